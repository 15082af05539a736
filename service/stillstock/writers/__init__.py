"""A drawing, tool path or sheet out; one format a file."""
