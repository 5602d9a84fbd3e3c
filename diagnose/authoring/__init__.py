"""The trainer: looking things up in the rule book."""
