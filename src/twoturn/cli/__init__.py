"""The command line: thin commands that read their input, call one function of ``acts`` and show the answer."""
