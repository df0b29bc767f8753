"""A job: the entries of one renewal, the checks made of them, and the record that shows any change."""
