"""The words that pages and sheets use: names of things, states and verdicts as a technician says them; the cautions."""
