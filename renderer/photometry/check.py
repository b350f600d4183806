"""Lumens of a measured table against the lumens that its file states: the quickest sign of a misread file."""

from __future__ import annotations

from dataclasses import dataclass

from renderer.photometry.record import Photometry
from renderer.photometry.table import CandelaTable

WITHIN = 0.05
"""Share that the two may differ by: a table of every 10 degrees can be some per cent off by its grid."""
LEAST = 0.25
"""Share of its lamps' lumens below which a luminaire is misread rather than that lossy (common practice)."""


@dataclass(frozen=True)
class FluxCheck:
    """lumens  integrated from the candela
    stated     lumens that the file says, of the luminaire or else of its lamps; None for none
    ratio      lumens over stated
    caution    what is odd, in one line; None for nothing
    """

    lumens: float
    stated: float | None
    ratio: float | None
    caution: str | None


def flux_check(photometry: Photometry, table: CandelaTable) -> FluxCheck:
    """Integrated lumens against stated ones.

    With an output ratio (EULUMDAT's LORL) the two have to agree within 5 per cent. An LM-63 file states only
    what its lamps give: the luminaire may give less, not more, and hardly less than a quarter. A file of
    absolute photometry states nothing.
    """
    lumens, lamps, name = table.lumens, photometry.lamp_lumens, photometry.name
    if lamps is None or (photometry.form == "EULUMDAT" and photometry.output_ratio is None):
        return FluxCheck(lumens, None, None, None)
    whole = photometry.output_ratio is not None
    stated = lamps * (photometry.output_ratio or 1.0)
    ratio = lumens / stated
    told = f"{name}: its candela make {lumens:.4g} lumens, {ratio:.3g} times the {stated:.4g} that it states"
    caution = None
    if whole and abs(ratio - 1.0) > WITHIN:
        caution = f"{told} for the luminaire; expected within {WITHIN:.0%}"
    elif not whole and ratio > 1.0 + WITHIN:
        caution = f"{told} for its lamps; expected no more than {1.0 + WITHIN:.4g} times"
    elif not whole and ratio < LEAST:
        caution = f"{told} for its lamps; expected at least {LEAST:g} times"
    return FluxCheck(lumens, stated, ratio, caution)
