"""How wide a beam is: beam angle and field angle.

The IES takes its shares (50 and 10 per cent) of the largest intensity, the CIE of that on the axis.
They differ for beams that are darker in the middle.

source  ANSI/IES LS-1 (lighting definitions): beam angle, field angle; CIE S 017 (International Lighting
        Vocabulary) and IEC/TR 61341: beam angle of a reflector lamp (both from memory)
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from renderer.errors import InputError
from renderer.photometry.table import CandelaTable

Reference = Literal["maximum", "axis"]
BEAM = 0.5
FIELD = 0.1


def half_angle(table: CandelaTable, share: float, c: float = 0.0, of: Reference = "maximum") -> float:
    """The widest gamma [degrees] in plane C at which a share of the reference is still reached.

    share  of the intensity that `of` names: the largest of the whole table ("maximum"), or that at gamma 0
    0 where the plane never reaches it; the last gamma of the table where it never falls below it. Exact for
    intensities that run straight between gammas. Raises InputError for a dark axis that is the reference.
    """
    reference = table.maximum()[0] if of == "maximum" else float(table.value(c, 0.0))
    if reference <= 0.0:
        raise InputError("beam angle of the intensity on the axis: expected light at gamma 0; got 0 candela")
    level = share * reference
    row = table.value(c, table.gammas)
    reached = np.flatnonzero(row >= level)
    if len(reached) == 0:
        return 0.0
    last = int(reached[-1])
    if last == len(row) - 1:
        return float(table.gammas[-1])
    part = (row[last] - level) / (row[last] - row[last + 1])
    return float(table.gammas[last] + part * (table.gammas[last + 1] - table.gammas[last]))


def full_angle(table: CandelaTable, share: float, c: float = 0.0, of: Reference = "maximum") -> float:
    """The angle [degrees] across the axis, in the planes C and C + 180, between the two `half_angle`s."""
    return half_angle(table, share, c, of) + half_angle(table, share, c + 180.0, of)


def beam_angle(table: CandelaTable, c: float = 0.0, of: Reference = "maximum") -> float:
    """Full angle [degrees] at 50 per cent, in the planes C and C + 180. See `half_angle`."""
    return full_angle(table, BEAM, c, of)


def field_angle(table: CandelaTable, c: float = 0.0, of: Reference = "maximum") -> float:
    """Full angle [degrees] at 10 per cent, in the planes C and C + 180. See `half_angle`."""
    return full_angle(table, FIELD, c, of)
