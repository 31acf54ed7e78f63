"""Helpers of answers about a whole club: archers with the sets of a rack."""
