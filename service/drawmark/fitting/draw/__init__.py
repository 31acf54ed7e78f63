"""The draw: how long it is, how much it varies and what controls it."""
