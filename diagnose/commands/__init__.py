"""The command line: one small file per audience; parses, calls, prints."""
