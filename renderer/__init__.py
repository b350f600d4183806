"""halfstop: see the light before you rig it."""
