"""The rule book: what an author writes, read with places, checked as a whole, and cached."""
