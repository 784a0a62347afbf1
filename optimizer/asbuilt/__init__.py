"""What came off the lathe and what runs now, worked out from what was measured."""
