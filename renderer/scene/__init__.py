"""What is written in a scene file: models, units, placement and clear errors."""
