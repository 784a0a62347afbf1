"""How exactly to turn."""
