"""Documents of a result: topics make blocks, backends turn blocks into text, pages, data."""
