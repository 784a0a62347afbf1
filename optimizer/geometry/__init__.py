"""Plane geometry of belts that run on two pulleys."""
