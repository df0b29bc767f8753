"""Measures the targets of the project; `make bench` runs it and writes docs/measured.md."""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is loaded: one thread, so that processor time is the time of the work
