"""Floor 4: quantities become money."""
