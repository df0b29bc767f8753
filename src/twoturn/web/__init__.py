"""The bench: pages for the workshop over the acts of the record.."""
