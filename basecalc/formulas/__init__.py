"""The worksheet functions without a spreadsheet program: what each makes of one row of cells, and of a range."""
