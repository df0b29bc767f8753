"""The checks of a job, one module a part of the work."""
