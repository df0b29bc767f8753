"""The entries of a job: one dated, signed fact each. ``docs/job-file.md`` shows whole valid examples."""
