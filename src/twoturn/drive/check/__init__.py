"""Checks of a drive file beyond types: names that do not exist, values that contradict each other."""
