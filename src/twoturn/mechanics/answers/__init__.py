"""What is asked of a belt at rest: the window, friction, slopes, which belt fits, the free span of a note."""
