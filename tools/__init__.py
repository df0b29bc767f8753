"""What maintains the project: not shipped."""
