"""Papers of a design as files, and those among them that are whole pages.

Nothing is imported here, so that the names of papers can be told without waiting for what draws them.
"""
