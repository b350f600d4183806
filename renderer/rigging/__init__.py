"""What a rig weighs, draws and leaves clear: arithmetic for a person who decides, never a permission."""
