"""What the tool promises, as tests; helpers shared by several rooms lie beside them."""
