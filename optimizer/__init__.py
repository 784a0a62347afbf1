"""The engine of conewright: pure computing, no printing, no files but its own data."""
