"""How the engine turned while it was recorded: speed, compression wave, evenness by cylinder."""
