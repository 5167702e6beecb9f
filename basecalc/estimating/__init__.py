"""The estimating workbook: from readings to a quote on sheets that recalculate through the worksheet functions."""
