"""The acts on the shop's record: one function an act, and the only place that reads the clock for it."""
