"""Mechanics of a belt at rest: where the tensioner comes to stand, the tension, and how both answer to every change."""
