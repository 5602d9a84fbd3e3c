"""The interview as a page for a phone: server-rendered, on the same protocol and the same journals as the terminal."""
