"""Cutting an arrow in steps: what bare shafts tell, and how much to cut next."""
