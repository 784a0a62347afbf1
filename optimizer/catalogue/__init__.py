"""Belt sections, grooves, stock lengths, with the source of every figure."""
