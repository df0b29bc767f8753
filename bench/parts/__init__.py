"""One module a part of the project; each has `measure() -> list[Row]`."""
