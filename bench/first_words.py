"""Run in a process of its own: how soon a command's first words stand on a terminal, its libraries once loaded.

A first run in a forked child tells which modules the command loads; these are loaded; then another child, whose own
memory of the command is empty, is timed until its first byte on the terminal.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import pty
import sys
import time


def run(words: list[str]) -> None:
    """Run the command line with these words."""
    from twoturn.cli.main import run as command

    sys.argv = ["twoturn", *words]
    with contextlib.suppress(SystemExit):
        command()
    sys.stdout.flush()
    sys.stderr.flush()


def timed(words: list[str]) -> tuple[float, float]:
    """Wait and processor time until the first byte on a terminal [s]."""
    start = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        run(words)
        os._exit(0)
    os.read(terminal, 1)
    wait, work = time.perf_counter() - start, time.clock_gettime((~child << 3) | 2)  # the clock of that process
    _drain(terminal)
    os.waitpid(child, 0)
    return wait, work


def modules(words: list[str]) -> list[str]:
    """The modules a command loads on a terminal."""
    read, write = os.pipe()
    child, terminal = pty.fork()
    if child == 0:
        run(words)
        os.write(write, json.dumps(list(sys.modules)).encode())
        os._exit(0)
    os.close(write)
    _drain(terminal)
    told = b""
    while part := os.read(read, 65536):
        told += part
    os.waitpid(child, 0)
    return list(json.loads(told))


def _drain(terminal: int) -> None:
    with contextlib.suppress(OSError):
        while os.read(terminal, 65536):
            pass


def main() -> None:
    """Print waits and processor times of some runs as JSON."""
    words, runs = sys.argv[2:], int(sys.argv[1])
    importlib.import_module("twoturn.cli.main")
    for name in modules(words):
        with contextlib.suppress(Exception):
            importlib.import_module(name)
    print(json.dumps([timed(words) for _ in range(runs)]))


if __name__ == "__main__":
    main()
