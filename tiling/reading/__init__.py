"""Files into patterns: SVG, PDF and the TOML notes, with findings for what could not be read as drawn."""
