"""A person's own scan of many triangles: the memory that reading and packing it takes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

ROOT = Path(__file__).parent.parent
BYTES = 850
"""Of each triangle, beyond the program with its kernels loaded: own measurements with glibc, 690. With the edges
that trimesh keeps of a mesh that is asked whether it is closed, and corners gathered in double precision, 1000."""
SCENE = """
[light.key]
source = "bulb"
diameter = 0.1
lumens = 500
at = [0.5, 1.0, 1.6]
[sitter]
eye_height = 1.3
mesh_scale = 0.1
"""
PROGRAM = """
import resource, sys
from importlib import import_module
from renderer.film.prepare import prepare
from renderer.scene.load import load
from renderer.world.build import build

import_module("trimesh")
prepare("cpu")
unit = 1 if sys.platform == "darwin" else 1024
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
world = build(load(sys.argv[1]))
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(len(world.packed.mesh.triangles), (after - before) * unit)
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no resource module")
def test_memory_of_a_scan(tmp_path: Path) -> None:
    trimesh.creation.icosphere(subdivisions=7, radius=1.0).export(tmp_path / "scan.ply")
    (tmp_path / "scene.toml").write_text(SCENE + 'mesh = "scan.ply"\n')
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "scene.toml")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    count, taken = map(int, done.stdout.split())
    assert count == 20 * 4**7  # an icosahedron, every triangle divided into four, seven times
    assert taken < BYTES * count
