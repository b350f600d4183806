"""What a photometric file says about a head, whatever its format."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from renderer.photometry.opening import Opening

Symmetry = Literal["axial", "quadrant", "bilateral", "lateral", "none"]
"""Which C-planes stand for the others.

axial      one plane for all
quadrant   C0 to C90, mirrored at C0-C180 and at C90-C270
bilateral  C0 to C180, mirrored at the plane C0-C180
lateral    from C90 or C270 over half a turn, mirrored at the plane C90-C270
none       all planes are there
"""


@dataclass(frozen=True)
class Tilt:
    """How the lamp's output changes with the tilt of the luminaire (LM-63, TILT=INCLUDE).

    geometry  1 lamp upright when the luminaire points down; 2 level and stays level; 3 level and tilts along
    degrees   tilt from pointing straight down
    factor    output there, as a multiple
    """

    geometry: int
    degrees: tuple[float, ...]
    factor: tuple[float, ...]


@dataclass(frozen=True)
class Photometry:
    """A measured distribution. Intensities are candela: all factors of the file are in them, save `tilt`.

    name          what messages call the file
    form          "LM-63-1986" to "LM-63-2019", or "EULUMDAT"
    symmetry      which planes `planes` leaves out
    planes        C [degrees], ascending (p,)
    gammas        from the axis [degrees], ascending (g,)
    candela       (p, g)
    lamp_lumens   lumens of all lamps together as the file says; None for absolute photometry
    output_ratio  lumens of the luminaire over those of its lamps; None where the file does not say
    watts         electrical power; 0 where the file does not say
    opening       shape and size of what shines
    keywords      what is written about the luminaire, by keyword
    tilt          kept as it stands, never applied: it depends on how the head hangs
    generation    LM-63-2019: the code of how the file was made; a record, never a factor
    cautions      what is odd but readable, one line each
    """

    name: str
    form: str
    symmetry: Symmetry
    planes: tuple[float, ...]
    gammas: tuple[float, ...]
    candela: tuple[tuple[float, ...], ...]
    lamp_lumens: float | None
    output_ratio: float | None
    watts: float
    opening: Opening
    keywords: dict[str, str] = field(default_factory=dict)
    tilt: Tilt | None = None
    generation: float | None = None
    cautions: tuple[str, ...] = ()
