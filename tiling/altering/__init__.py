"""Changing a pattern for a body: spread or overlap, lengthen or shorten, fair the joins, check the seams."""
