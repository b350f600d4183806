"""The sitter: generator and committed meshes. The generator needs more libraries than reading its result."""
