"""One function for each act of a person; pages and commands only call these and show what they return."""
