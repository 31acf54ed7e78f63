"""How other shafts are compared with known arrows, and what the rules say of them."""
