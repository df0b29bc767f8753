"""From a request's form to values: what was typed, read and refused field by field."""
