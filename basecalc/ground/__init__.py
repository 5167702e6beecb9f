"""Field readings become a strength of the ground."""
