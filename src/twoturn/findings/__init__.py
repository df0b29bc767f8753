"""The catalogue of findings: what an old belt and its surroundings show, and which must be cured first."""
