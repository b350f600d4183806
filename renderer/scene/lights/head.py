"""A reflector head: hard and small, its light thrown forward in a beam out of a round aperture.

Its light is known in one of three ways: by beam and field angle with a level, by a photometric file, or by
lux at distances with the beam angle. All of them become one table of candela, and that the luminance of a
flat disc by direction (`renderer.scene.lights.throw`): every point of the aperture sends the same beam.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field, PrivateAttr

from renderer.errors import InputError
from renderer.scene.beam import Beam
from renderer.scene.field import Degrees, Problem, Quantity, Reflectance, Size, plain
from renderer.scene.lights.crate import Crated
from renderer.scene.lights.reading import Readings
from renderer.scene.parts import Disc, Part, Shape
from renderer.scene.place import LightPlace

if TYPE_CHECKING:
    from renderer.photometry.record import Photometry
    from renderer.photometry.table import CandelaTable

NARROWEST = 4.0
"""Beam angle [deg] under which the table of whole degrees would miss its lumens by more than 3 per cent."""
TIGHT = 1.001
"""Field over beam angle, at least."""
ROUND = ("disc", "ellipse", "vertical cylinder", "sphere", "ellipsoid")
SQUARE = ("rectangle", "box")
"""Openings of a file that have a size across the axis."""
LARGEST = 10.0


class HeadLight(Crated):
    """A round aperture turned to its aim; the back is housing."""

    levels: ClassVar[tuple[str, ...]] = ("lumens", "lux_at_1m", "candela", "luminance")

    source: Literal["head"] = Field(description="the kind of light")
    diameter: Size | None = Field(
        default=None, description="metres across the aperture; of a file its opening, unless given"
    )
    beam: Annotated[float, Quantity("degrees", NARROWEST, 170.0)] | None = Field(
        default=None, description="degrees between the directions of half the peak; this or file"
    )
    field: Annotated[float, Quantity("degrees", NARROWEST, 178.0)] | None = Field(
        default=None, description="degrees between the directions of a tenth of the peak, beside beam"
    )
    file: str | None = Field(
        default=None,
        description="photometric file (.ies, .ldt), its path from the folder of the scene; this or beam",
    )
    readings: Readings | None = Field(
        default=None, description="[[metres, lux], ...] on the axis, in place of a level, beside beam"
    )
    candela: Annotated[float, Quantity("candela", 0.0, 1e9, above=True)] | None = Field(
        default=None, description="candela of its peak at full dimmer, in place of another level"
    )
    roll: Degrees = Field(
        default=0.0,
        description="degrees; turns it about its axis, C0 (to the right, seen from behind it) to C90 (up)",
    )
    face_reflectance: Reflectance = Field(
        default=(0.1, 0.1, 0.1), description="reflectance of the aperture, 0 to 1, or [r, g, b]"
    )
    _photometry: Photometry | None = PrivateAttr(None)
    _throw: tuple[CandelaTable, Beam] | None = PrivateAttr(None)

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        if "file" in given:
            for key in ("beam", "field", "readings"):
                if key in given:
                    yield (key,), "its light is given twice: expected either file or beam, not both"
            return
        if "beam" not in given:
            beside = next((f" beside {key}" for key in ("readings", "field") if key in given), "")
            yield (), f"has no beam: expected beam in degrees{beside}" + ("" if beside else ", or a file")
        if "diameter" not in given:
            yield (), "has no aperture: expected diameter in metres"
        for key in cls.levels:
            if key in given and "readings" in given:
                yield (key,), "a level beside readings: expected one of the two"

    @classmethod
    def needs_level(cls, given: Collection[str]) -> bool:
        return not {"file", "readings"} & set(given)

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        if self.beam is not None and self.field is not None and self.field < TIGHT * self.beam:
            yield (
                ("field",),
                f"expected more than the beam's {plain(self.beam)} degrees, since a tenth of the peak lies"
                f" outside half of it; got {plain(self.field)}",
            )

    def settle(self, folder: Path | None) -> None:
        super().settle(folder)
        self._photometry = self._throw = None

    def photometry(self) -> Photometry:
        """What its file says. Raises InputError with the line of the file."""
        from renderer.photometry.read import read

        if self._photometry is None:
            self._photometry = read((self._folder or Path()) / (self.file or ""))
        return self._photometry

    def file_problems(self) -> Iterator[Problem]:
        if self.file is None:
            return
        try:
            read = self.photometry()
        except InputError as wrong:
            yield from ((("file",), line) for line in wrong.lines)
            return
        ahead = [i for i, gamma in enumerate(read.gammas) if gamma < 90.0]
        if not any(row[i] > 0.0 for row in read.candela for i in ahead):
            yield ("file",), f"{read.name}: sends no light ahead (gamma under 90 degrees)"
        elif self.lux_at_1m is not None and (read.gammas[0] > 0.0 or not any(r[0] for r in read.candela)):
            yield ("lux_at_1m",), "its file has no light on the axis: expected lumens or candela"
        if self.diameter is None and not 0.0 < _across(read) <= LARGEST:
            size = f"is {_across(read):g} m across" if _across(read) else f"is a {read.opening.shape}"
            yield ("file",), f"{read.name}: its opening {size}: expected diameter in metres beside it"

    def aperture(self) -> float:
        """Diameter [m] of what shines."""
        return self.diameter if self.diameter is not None else _across(self.photometry())

    def open_area(self) -> float:
        return math.pi * (self.aperture() / 2) ** 2

    def factor_at_1m(self) -> float:
        return self.thrown()[1].within(math.atan(self.aperture() / 2)) / math.pi

    def thrown(self) -> tuple[CandelaTable, Beam]:
        """Its candela (of a file as they are, else with a peak of 1) and the factors, without a crate."""
        from renderer.photometry.table import CandelaTable
        from renderer.photometry.two_angle import beam_of_angles
        from renderer.scene.lights import throw

        if self._throw is None:
            if self.file is not None:
                table = CandelaTable.of(self.photometry())
            else:
                table = beam_of_angles(self.beam or 0.0, self.field, candela=1.0)
            self._throw = table, throw.beam_of(table)
        return self._throw

    def peak(self) -> float:
        """Largest intensity [cd] at full dimmer, without a crate."""
        from renderer.scene.lights import throw

        table, beam = self.thrown()
        if self.readings is not None:
            return throw.candela_of_readings(self.readings, self.aperture() / 2, beam)
        if self.candela is not None:
            return self.candela
        if self.lumens is not None:
            return self.lumens / beam.within()
        if self.lux_at_1m is not None:
            return self.lux_at_1m / throw.lux_on_axis(1.0, 1.0, self.aperture() / 2, beam)
        if self.luminance is not None:
            return self.luminance * self.open_area()
        return table.maximum()[0]

    def face_luminance(self) -> float:
        """cd/m2: the largest intensity over the area of the aperture, which is that of a factor of 1."""
        return self.peak() / self.open_area()

    def flux(self) -> float:
        """Lumens out of the aperture at full dimmer as traced, without a crate."""
        return self.peak() * self.thrown()[1].within()

    def crated_beam(self) -> Beam:
        return self.thrown()[1].times(super().crated_beam())

    def shapes(self, place: LightPlace) -> list[Shape]:
        u, v, normal = place.face_axes(self.roll)
        return [Disc(place.centre, normal, self.aperture() / 2, u, v)]

    def parts(self, place: LightPlace) -> list[Part]:
        return [self.face(shape) for shape in self.shapes(place)]

    def lux(self, metres: float, crated: bool = True) -> float:
        """On its axis at full dimmer, on a meter that faces it; past its crate or without."""
        from renderer.scene.lights import throw

        beam = self.crated_beam() if crated else self.thrown()[1]
        return throw.lux_on_axis(self.peak(), metres, self.aperture() / 2, beam)

    def figures(self) -> Iterator[tuple[str, str]]:
        from renderer.scene.lights import head_report

        yield from head_report.figures(self)
        yield from super().figures()

    def remarks(self, place: LightPlace) -> Iterator[str]:
        from renderer.scene.lights import head_report

        yield from super().remarks(place)
        yield from head_report.remarks(self)


def _across(read: Photometry) -> float:
    """Diameter [m] of the disc that has the area of a file's opening as the axis sees it; 0 for none."""
    product = read.opening.along_c0 * read.opening.along_c90
    if read.opening.shape in ROUND:
        return math.sqrt(product)
    return math.sqrt(4.0 / math.pi * product) if read.opening.shape in SQUARE else 0.0
