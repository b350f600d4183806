"""Meter readings: where the meter is held, what it says, and how sure it is."""
