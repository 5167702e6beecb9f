"""Floor 1: field readings become a strength of the ground."""
