"""By how much a cam is late, by the authority there is, and what else would explain it."""
