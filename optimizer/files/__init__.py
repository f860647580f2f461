"""Files in: cases, readings, kits, tables of points; and a corrected case out."""
