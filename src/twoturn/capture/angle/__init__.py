"""Crank angle over time: between the teeth, over the cycle, and where the teeth really stand."""
