"""The stages of the work in their order: layouts, search, refinement, closing proof, checks.

Nothing is imported here, so that what a known machine gives can be told without waiting for scipy.
"""
