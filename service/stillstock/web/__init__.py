"""HTTP and nothing else: blueprints, negotiation, problems."""
