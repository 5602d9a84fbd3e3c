"""The interview as a page."""
