"""Cutting an arrow in steps: what bare shafts show, and how much to cut next."""
