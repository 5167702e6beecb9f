"""The estimating workbook: one entry sheet, and a calculation in formulas that any spreadsheet program recalculates."""
