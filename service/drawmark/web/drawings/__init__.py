"""Answers as drawings (SVG) and as papers to print (HTML); loaded when one is asked for."""
