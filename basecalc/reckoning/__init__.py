"""Floor after the workbooks: tickets and hours of built jobs against their estimates, and what they teach the owner."""
