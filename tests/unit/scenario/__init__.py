"""What a maker may state, what is said where it is wrong."""
