"""Measures the targets of the project; `make bench` runs it and writes docs/measured.md."""
