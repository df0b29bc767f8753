"""Sound and sensor recordings: reading them in a process with limits, and what they say of themselves."""
