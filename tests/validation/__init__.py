"""Checks against figures printed in books and standards, one file a source."""
