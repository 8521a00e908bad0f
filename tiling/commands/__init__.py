"""One module per command; the only room that imports click."""
