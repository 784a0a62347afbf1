"""What the stages of the work hand to each other."""
