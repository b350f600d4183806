"""Readings from the set laid beside the scene: what is off, and how surely."""
