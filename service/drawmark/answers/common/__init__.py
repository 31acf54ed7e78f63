"""What several operations share: minimum, longest draw, cautions, pieces of answers."""
