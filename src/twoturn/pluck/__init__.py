"""From the sound of a plucked span to its note, and from the note to the belt's tension."""
