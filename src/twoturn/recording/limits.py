"""Limits that a reader's process sets itself before it looks at the first byte of a file from anywhere."""

from __future__ import annotations


def limit_process(memory_bytes: int, seconds: int, file_bytes: int, open_files: int) -> None:
    """Bind this process for good.

    Parameters
    ----------
    memory_bytes, seconds
        Memory [byte] and processor time [s] it may use.
    file_bytes
        Largest file it may write [byte].
    open_files
        Files it may have open at once [-]; 3 for none beside standard input, output and error.
    """
    try:
        import resource
    except ImportError:  # not a POSIX system: the caller's wall clock and size limits remain
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_FSIZE, (file_bytes, file_bytes))
    resource.setrlimit(resource.RLIMIT_NOFILE, (open_files, open_files))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
