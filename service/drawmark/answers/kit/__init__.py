"""Answers about a whole club: who shoots which set, labels, lengths to buy, odd arrows.

Each module answers one operation by a solver of `fitting.kit`; the others are what they share.
"""
