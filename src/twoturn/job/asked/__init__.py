"""What is asked at each step: forms as data, what a person typed made into an entry, and the one thing to do now."""
