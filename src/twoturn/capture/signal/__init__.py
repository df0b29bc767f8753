"""From channels to edges, and the unit of their times."""
