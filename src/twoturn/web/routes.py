"""All pages of the bench: each module of ``pages`` says which role its pages need."""

from __future__ import annotations

from importlib import import_module

from twoturn.web.assets import static_file
from twoturn.web.page import ANYONE, Page

PAGE_MODULES: tuple[str, ...] = (
    "about",
    "api",
    "boxes",
    "devices",
    "drive_editor",
    "drives",
    "files",
    "hand_over",
    "here",
    "job",
    "more",
    "people",
    "recordings",
    "set_up",
    "settings",
    "sign_in",
    "start",
    "tools",
    "understood",
    "vehicles",
    "who",
)
"""Modules of ``twoturn.web.pages``, each with its pages in ``PAGES``; a new one is named here."""


def all_pages() -> tuple[Page, ...]:
    """Every page, the files of the package first."""
    pages = [Page("/static/{digest:str}/{path:path}", static_file, ANYONE, bare=True)]
    for name in PAGE_MODULES:
        pages += import_module(f"twoturn.web.pages.{name}").PAGES
    return tuple(pages)
