"""The draw: how long it is, what controls it, and how long an arrow it asks for."""
