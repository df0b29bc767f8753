"""From files of every kind to channels: one folder a format, each with a probe and a reader."""
