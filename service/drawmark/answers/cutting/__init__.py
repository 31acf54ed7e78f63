"""Cutting: the plan of an arrow that cannot be uncut, and the order sheet of shafts."""
