"""Records on both databases for every test of the store."""

from tests.store.databases import empty_record, file_record, record

__all__ = ["empty_record", "file_record", "record"]
