"""From what is written to what is traced: meshes read and placed, trees built, all packed into arrays."""
