"""Pure computation of arrow length, safety, stiffness and balance, in SI units."""
