"""A club's rack: who shoots which set, which lengths to buy, which arrows are odd."""
