"""Run as a program: move lights on a simulated graphics card, without the compiler.

python plain_live.py SCENES.json PICTURES.npy

SCENES  texts of scene files; PICTURES  what `Live` shows of each in turn
"""

from __future__ import annotations

import json
import sys
import warnings
from pathlib import Path

import numpy as np

from renderer.live import Live
from renderer.scene.load import loads

sys.setswitchinterval(3600.0)  # threads of a simulated card never come between the sums of another
warnings.filterwarnings("ignore", message="overflow encountered")  # hashes are meant to wrap


def shown(texts: list[str], on: str) -> np.ndarray:
    """(scenes, h, w, 3) uint8."""
    with Live(on, threads=1) as live:
        return np.array([live.show(loads(text, "test")).picture for text in texts])


if __name__ == "__main__":
    np.save(sys.argv[2], shown(json.loads(Path(sys.argv[1]).read_text()), "gpu"))
