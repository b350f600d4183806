"""Dimmers for targets, why not more, and what would buy it."""
