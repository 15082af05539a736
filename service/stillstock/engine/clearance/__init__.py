"""What the tool and its holder could meet."""
