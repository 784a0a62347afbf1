"""What a maker may state, and what is said where it is wrong."""
