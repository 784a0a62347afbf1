"""Designs verified in high precision by code that imports nothing of the project, and the campaign that does it."""
