"""What goes wrong besides letting go."""
