"""Tests of the helpdesk's way in."""
