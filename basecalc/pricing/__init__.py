"""Quantities become money."""
