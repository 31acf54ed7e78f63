"""What every request and answer goes through: bodies, schemas, conversion, problems."""
