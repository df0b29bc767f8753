"""The crankshaft's sensor wheel: its shape found, every edge told which tooth it is."""
