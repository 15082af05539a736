"""Published and practical numbers, checked and converted once."""
