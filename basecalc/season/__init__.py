"""Tickets, hours and results of built jobs beside what was estimated: lists, factors, the workbook of a season."""
