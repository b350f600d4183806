"""A person's own scan of many triangles: the memory that reading and packing it takes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

ROOT = Path(__file__).parent.parent
BYTES = 850
"""Of each triangle, beyond the program with its kernels loaded: own measurement with glibc, 690. It was 1000
with the edges that trimesh keeps of a mesh that is asked if it is closed, and corners in double precision."""
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
import sys
from importlib import import_module
from pathlib import Path
from renderer.live.prepare import prepare
from renderer.scene.load import load
from renderer.world.build import build

import_module("trimesh")
prepare("cpu")

def peak():
    # getrusage would tell of the process that started this one too
    line = next(it for it in Path("/proc/self/status").read_text().splitlines() if it.startswith("VmHWM"))
    return 1024 * int(line.split()[1])

before = peak()
world = build(load(sys.argv[1]))
print(len(world.packed.mesh.triangles), peak() - before)
"""


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is told by Linux alone")
def test_memory_of_a_scan(tmp_path: Path) -> None:
    trimesh.creation.icosphere(subdivisions=7, radius=1.0).export(tmp_path / "scan.ply")
    (tmp_path / "scene.toml").write_text(SCENE + 'mesh = "scan.ply"\n')
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "scene.toml")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    count, taken = map(int, done.stdout.split())
    assert count == 20 * 4**7  # an icosahedron, every triangle divided into four, seven times
    assert taken < BYTES * count
