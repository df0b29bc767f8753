"""Entries as sentences: one function a kind."""
