"""What a light, a card or a flag is made of: plain shapes with a luminance and a reflectance.

A light's file turns its typed parameters into a list of `Part`; nothing after that knows lights by
name. All vectors are world coordinates in metres (see `renderer.scene.place` for the frame).
Axes are always given in full, so that no code after this needs to know the handedness of the world.
"""

from __future__ import annotations

from dataclasses import dataclass

Vec3 = tuple[float, float, float]
RGB = tuple[float, float, float]

BLACK: RGB = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Disc:
    """Flat disc. Its front is the side that `normal` (unit) leaves."""

    centre: Vec3
    normal: Vec3
    radius: float
    u: Vec3 | None = None
    """Unit, square to the normal: from where a turn about it is counted; None where nothing counts one."""
    v: Vec3 | None = None
    """Unit, square to both: the direction of a quarter turn."""


@dataclass(frozen=True)
class Rectangle:
    """Flat rectangle: centre +- half_u +- half_v. Its front is the side that `normal` (unit) leaves."""

    centre: Vec3
    half_u: Vec3
    half_v: Vec3
    normal: Vec3


@dataclass(frozen=True)
class Sphere:
    """Sphere; its front is the outside."""

    centre: Vec3
    radius: float


@dataclass(frozen=True)
class Tube:
    """Part of the side of a circular cylinder; its front is the outside.

    Points are centre + radius (cos(phi) u + sin(phi) v) + z axis, with u, v, axis orthonormal,
    phi from phi_from to phi_to [radians, phi_from < phi_to <= phi_from + 2 pi] and z from z_from to
    z_to [m, z_from < z_to] along the axis from `centre`.
    """

    centre: Vec3
    u: Vec3
    v: Vec3
    axis: Vec3
    radius: float
    phi_from: float
    phi_to: float
    z_from: float
    z_to: float


Shape = Disc | Rectangle | Sphere | Tube


Numbers = tuple[tuple[float, ...], ...]
"""A table, rows of equal length."""


@dataclass(frozen=True)
class Mask:
    """Cells of a flat shape, rows from below, each along u from its start: 1 stops light, 0 is open."""

    rows: int
    columns: int
    cells: bytes


@dataclass(frozen=True)
class Weave:
    """Cloth that lets the share `straight` (0 to 1) of all rays pass undeflected.

    number  which cloth of its light, 0 to 60: parts of one number pass the same rays, as the two faces of a
            sheet do; the two sides of a tube do not
    """

    straight: float
    number: int = 0


@dataclass(frozen=True)
class Part:
    """A shape with what it sends out and what it reflects.

    luminance         cd/m2 of the front at full dimmer; the back never emits
    reflectance       linear RGB (Rec. 709), 0..1, of the front, Lambertian
    back_reflectance  the same for the back (the inside of a sphere or tube)
    glow              how its luminance varies over it: a table of any size whose cells share the surface
                      evenly (of a tube: rows up the axis, columns along its turn; of a disc: rings of equal
                      area from the middle out, columns from u; of a rectangle: rows up v, columns along u).
                      Only its shape counts: `luminance` is the mean
    beam              factor of the luminance by direction: rows evenly from 0 to 90 degrees off the normal,
                      columns evenly round the turn from u; `luminance` is that of a factor of 1
    mask              of a flat shape: where it lets light through
    gloss             of a flat shape: roughness (GGX alpha, above 0) of its front, which is then a metal that
                      returns `reflectance` of light from any direction; None for Lambertian
    weave             what lets some rays pass anywhere on it; all else is said of what the others meet
    """

    shape: Shape
    luminance: float = 0.0
    reflectance: RGB = BLACK
    back_reflectance: RGB = BLACK
    glow: Numbers | None = None
    beam: Numbers | None = None
    mask: Mask | None = None
    gloss: float | None = None
    weave: Weave | None = None
