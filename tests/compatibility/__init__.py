"""What the last release took and answered, held against what is done today."""
