"""Measures the targets of the project; `make bench` runs it and writes docs/measured.md."""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # before numpy is loaded; the command line does the same
