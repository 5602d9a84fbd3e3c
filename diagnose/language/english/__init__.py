"""Word lists of general English, a module for each thing that they decide. Words of the trade come from the rule book.

The lists are short on purpose: a word belongs here only if ordinary sentences are misread without it.
"""
