"""From the C-planes that a file gives to the whole turn."""

from __future__ import annotations

from collections.abc import Sequence

from renderer.photometry.record import Symmetry

Rows = Sequence[Sequence[float]]


def mirrored(plane: float, symmetry: Symmetry) -> tuple[float, ...]:
    """The C angles [degrees] that share the intensities of `plane`, it among them."""
    if symmetry == "bilateral":
        return plane, -plane
    if symmetry == "lateral":
        return plane, 180.0 - plane
    if symmetry == "quadrant":
        return plane, -plane, 180.0 - plane, 180.0 + plane
    return (plane,)


def full_turn(
    planes: Sequence[float], rows: Rows, symmetry: Symmetry
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """C from 0 to 360 and a row of intensities for each; an axial distribution stays one row at C0.

    planes  C [degrees], ascending (p,); their ends lie on the planes of symmetry
    rows    intensities (p, g)

    The rows at C0 and C360 are one. Where a file without symmetry starts past C0, the turn is closed
    through the planes on both sides of it.
    """
    if symmetry == "axial":
        return (0.0,), (tuple(rows[0]),)
    whole: dict[float, tuple[float, ...]] = {}
    for plane, row in zip(planes, rows, strict=True):
        for angle in mirrored(plane, symmetry):
            whole.setdefault(angle % 360.0, tuple(row))
    angles = sorted(whole)
    if angles[0] > 0.0:
        before, after = angles[-1] - 360.0, angles[0]
        share = -before / (after - before)
        pairs = zip(whole[angles[-1]], whole[angles[0]], strict=True)
        whole[0.0] = tuple(a + share * (b - a) for a, b in pairs)
        angles.insert(0, 0.0)
    return (*angles, 360.0), (*(whole[angle] for angle in angles), whole[0.0])
