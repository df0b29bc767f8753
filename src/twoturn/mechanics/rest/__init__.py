"""Where the tensioners of a belt rest: the belt looked at, its balances found and judged, what is known then."""
