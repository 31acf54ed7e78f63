"""Parts of the script `check`: what it needs of a host, and one module a thing checked."""
