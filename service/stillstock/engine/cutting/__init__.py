"""Loads that a rotating cutter puts on the workpiece."""
