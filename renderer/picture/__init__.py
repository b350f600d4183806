"""From radiance to what a person looks at: the developed picture, the stops map, the files."""
