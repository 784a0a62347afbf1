"""What must hold for any machine."""
