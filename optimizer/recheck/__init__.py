"""A made machine beside its design: what was measured on it, what it is by that, what to do about it."""
