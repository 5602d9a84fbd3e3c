"""A diagnosis as other people and programs read it: one document, several renderings."""
