"""The rows of the record as frozen values; one module a subject, each function over a connection."""
