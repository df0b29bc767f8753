"""Which channel is the crank, and what its teeth say where some were lost."""
