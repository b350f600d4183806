"""From a field to a committed file: grid, decimation, closed meshes, PLY."""
