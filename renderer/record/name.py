"""Names of the files that a preview is kept in."""

PICTURE, STOPS, INCIDENT = "preview.png", "stops.png", "incident.png"
KEY, PATCHES, EYES = "key.png", "patches.png", "eyes.png"
LAYERS, EYE_LAYERS, NUMBERS = "layers.exr", "eyes.exr", "numbers.json"
FORMAT = 2
