"""The drive file as written: one pydantic model a table. ``docs/drive-file.md`` shows whole valid files."""
