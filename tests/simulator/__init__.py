"""A camera, a printer and a table on which a test page can be photographed with the truth known."""
