"""Spoilboard patterns."""
