"""Every output of every command on every shipped scenario, held against digests: ``python -m tests.golden``."""
