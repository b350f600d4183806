"""Make classic.png: four sitters under the five classic placements, each with what is measured of it.

python scenes/classic_sheet.py [--within STOPS] [--size WxH]
"""

from __future__ import annotations

import argparse
from pathlib import Path

from renderer.meter.face.finding import Finding
from renderer.picture.png import write_png
from renderer.picture.sheet import Cell, sheet
from renderer.preview import Preview
from renderer.scene.load import load
from renderer.units import signed

HERE = Path(__file__).parent
SITTERS = {"head": "light_37", "broad": "brown_13", "slender": "very_light_46", "deep_set": "tan_22"}
PLACEMENTS = {
    "front": "front, just over the lens",
    "45-45": "45 degrees round, 45 up",
    "side": "side",
    "overhead": "straight overhead",
    "overhead-forward": "overhead, moved forward, card below",
}


def within(value: float, error: float) -> str:
    """A number with its error, which is never shown smaller than the last place."""
    return f"{signed(value)} \u00b1{max(error, 0.1):.1f}"


def name_of(pattern: Finding) -> str:
    return "mixed: over the head" if "over the head" in pattern.why else str(pattern.value)


def captions(preview: Preview) -> list[str]:
    """Pattern and ratio; the eyes and the shade under the chin."""
    numbers = preview.numbers()
    ratio, stops = numbers.measures["lighting_ratio"], numbers.measures["lighting_ratio_stops"]
    assert numbers.face is not None
    found = numbers.face.findings
    eyes = [found[f"eye_shade.sitter_{side}"] for side in ("right", "left")]
    chin = found["under_chin"]
    return [
        f"{name_of(found['pattern'])}, {ratio.value:.1f}:1 ({within(stops.value, stops.error)} stops)",
        "eyes re cheek " + " and ".join(within(eye.number, eye.error) for eye in eyes),
        f"under the chin {within(chin.number, chin.error)} stops",
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--within", type=float, default=0.04)
    parser.add_argument("--size", default="300x375")
    parser.add_argument("--out", type=Path, default=HERE / "classic.png")
    options = parser.parse_args()
    width, height = (int(side) for side in options.size.split("x"))
    rows = []
    for number, name in enumerate(PLACEMENTS, 1):
        scene = load(HERE / f"classic-{number}-{name}.toml")
        camera = scene.camera.model_copy(update={"picture": (width, height)})
        row = []
        for sitter, tone in SITTERS.items():
            data = scene.sitter.model_dump(exclude_none=True) | {"mesh": sitter, "skin_reflectance": tone}
            person = type(scene.sitter).model_validate(data)
            there = scene.model_copy(update={"camera": camera, "sitter": person})
            preview = Preview.trace(there, within=options.within, magnify=False)
            row.append(Cell(preview.picture(), captions(preview)))
        rows.append(row)
    columns = [f"{sitter}, skin {tone}" for sitter, tone in SITTERS.items()]
    made = sheet(rows, "Four sitters under five classic placements", columns, list(PLACEMENTS.values()))
    write_png(options.out, made, {"Title": "Four sitters under five classic placements"})


if __name__ == "__main__":
    main()
