"""What belts pull and carry."""
