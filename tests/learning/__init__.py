"""What closed cases teach."""
