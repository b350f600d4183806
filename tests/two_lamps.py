"""A sitter between two lamps in a small room: enough for a whole preview, traced in a second."""

SCENE = """
title = "Two lamps"
[room]
width = 4
depth = 4
height = 2.5
back_wall = 1.5
[camera]
picture = [64, 80]
[light.key]
source = "disc"
around = { azimuth = 45, distance = 1.2, height = 1.8 }
diameter = 0.6
lumens = 1500
[light.warm]
source = "bulb"
purpose = "fill"
around = { azimuth = -60, distance = 1.2, height = 1.3 }
diameter = 0.1
lumens = 300
cct = 3200
[mark.chest]
at = [0.0, 0.3, 0.95]
facing = "key"
"""
