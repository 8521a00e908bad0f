"""The workroom: the whole job in a browser at the kitchen table. The only room that imports a web framework."""
