"""Estimates become workbooks that people open."""
