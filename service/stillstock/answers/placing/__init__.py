"""Placing: where holders of each kind may stand in a job, kind by kind."""
