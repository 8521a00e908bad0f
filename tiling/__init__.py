"""Full-size pattern drawings as overlapping pages for a home printer.

A file is read into a `tiling.pattern.Pattern`, perhaps altered, planned as tiles, drawn as pages, proved and
published. Each room imports only rooms below it; see DEVELOPERS.md for the map.
"""
