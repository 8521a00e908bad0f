"""Pages: tiles with their join marks, the first page, the map, the PDF and its proof."""
