"""Measures of light on a face. Begun: shadows, nose and pattern; not yet joined to the numbers."""
