"""What closed cases teach: figures learned from them, how good our own probabilities were, what a meter had before."""
