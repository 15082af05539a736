"""The application layer: one file a question."""
