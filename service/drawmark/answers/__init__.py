"""One operation a module: from a request in SI to an answer in SI.

Each module has a `Request`, the fields it `NEEDS`, and `answer`. An answer is a tree of
dictionaries and lists whose figures are `Measure` leaves; the wire gives them units.
"""
