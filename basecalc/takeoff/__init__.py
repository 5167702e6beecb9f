"""Depths and areas become quantities."""
