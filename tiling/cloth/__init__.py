"""From paper to cloth: seams, cutting list, lay plan, notions and the cautions that belong to them."""
