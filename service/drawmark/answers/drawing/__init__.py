"""Drawings of answers: named places in SI, beside the figures that stand at them."""
