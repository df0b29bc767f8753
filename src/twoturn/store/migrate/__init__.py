"""The schema and its changes."""
