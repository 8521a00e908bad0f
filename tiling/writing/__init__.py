"""Files out: the altered drawing as SVG, pictures, and safe publishing of any file."""
