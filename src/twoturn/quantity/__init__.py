"""Values with unit and uncertainty, numbers as people type them, and the decision rule."""
