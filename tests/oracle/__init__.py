"""Truth that the search is held against, worked out by other means."""
