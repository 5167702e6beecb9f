"""Tables declared once: what their fields are, and how they are read from workbooks, job files and lists."""
