"""Readings of gauss and LCR meters that come as a table: CSV or XLSX."""
