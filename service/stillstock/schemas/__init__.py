"""Documents in, SI dataclasses out, and results back into the caller's units."""
