"""Numbers as a person reads them on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from renderer.meter.numbers import Numbers


def lines_of(numbers: Numbers) -> list[str]:
    """All marks and measures as aligned lines."""
    from renderer.meter.word import level, plus_minus
    from renderer.units import t_stop_in_thirds

    rows = [("mark", "meter", "level", "from exposure", "asks for", "from")]
    for name, mark in numbers.marks.items():
        shares = sorted(mark.shares.items(), key=lambda item: -item[1].value)
        rows.append(
            (
                name,
                mark.mark.meter,
                level(mark.level),
                f"{mark.over_exposure.value:+.2f} ±{mark.over_exposure.error:.2f} stop",
                t_stop_in_thirds(mark.t_stop.value),
                ", ".join(f"{light} {100 * share.value:.0f} %" for light, share in shares),
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(5)]
    lines = [
        "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[5]]).rstrip()
        for row in rows
    ]
    for name, mark in numbers.marks.items():
        if mark.verdict is not None:
            judged = mark.verdict
            reason = f": {judged.reason}" if judged.reason else ""
            lines.append(f"{name}  wanted {judged.wanted}, {judged.result}{reason}")
    measures = numbers.measures
    if "lighting_ratio" in measures:
        ratio, stops = measures["lighting_ratio"], measures["lighting_ratio_stops"]
        lines.append(
            f"lighting ratio (key + fill) : fill  {plus_minus(ratio)} : 1, {plus_minus(stops)} stops"
        )
    if "picture_contrast_stops" in measures:
        lines.append(
            f"picture contrast, cheek to cheek  {plus_minus(measures['picture_contrast_stops'])} stops"
        )
    missing = list(numbers.missing)
    if numbers.face is not None:
        lines += ["", "light on the face", *numbers.face.lines()]
        missing += numbers.face.missing
    return lines + [f"not given: {text}" for text in missing]
