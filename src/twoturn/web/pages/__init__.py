"""One module a subject; each lists its pages in ``PAGES``."""
