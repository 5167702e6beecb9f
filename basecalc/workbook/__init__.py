"""Floor 5: estimates become workbooks that people open."""
