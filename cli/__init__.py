"""The face of conewright: commands, screens, files."""
