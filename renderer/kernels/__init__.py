"""Everything that is compiled: plain functions over numbers, tuples and the packed scene.

Read in the order layout, vector, sampler, shapes/, room, mesh, surface, light, path, entry.
Nothing here knows files, options or printing; nothing is allocated inside a kernel.
"""
