"""Many fit checks in one request; one bad item spoils nothing."""
