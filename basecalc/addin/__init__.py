"""The LibreOffice Calc add-in: one file with the worksheet functions and all that they need."""
