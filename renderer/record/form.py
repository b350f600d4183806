"""What the numbers of a preview must hold for the way back, and a line for the first thing that is wrong."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from renderer.errors import InputError
from renderer.film.mix import Fader
from renderer.meter.face.catchlight import Catchlight
from renderer.scene.field import show
from renderer.scene.gel import Gel
from renderer.scene.message import dotted
from renderer.scene.white import White

# Far over all that a scene can give, far under where arithmetic ends; own choice.
MOST = 1e15
Number = Annotated[float, Field(ge=-MOST, le=MOST)]
Factor = Annotated[float, Field(ge=0.0, le=1e4)]
Triple = Annotated[list[Number], Field(min_length=3, max_length=3)]


class Form(BaseModel):
    """A part of the file; what else stands there is made anew from it."""

    model_config = ConfigDict(strict=True)


class GelForm(Form):
    mired: Annotated[float, Field(ge=-4000.0, le=4000.0)]
    stops: Annotated[float, Field(ge=0.0, le=80.0)]


class FaderForm(Form):
    name: str
    purpose: str
    dim: Factor
    cct: Annotated[float, Field(ge=1000.0, le=25000.0)]
    locus: Literal["planckian", "daylight"] | None = None
    duv: Annotated[float, Field(ge=-0.05, le=0.05)] | None = None
    colour: Annotated[list[Factor], Field(min_length=3, max_length=3)]
    gel: GelForm = Field(default_factory=lambda: GelForm(mired=0.0, stops=0.0))

    def white(self) -> White:
        r, g, b = self.colour
        return White(self.cct, self.locus, self.duv, (r, g, b), Gel(self.gel.mired, self.gel.stops))

    def fader(self) -> Fader:
        white = self.white()
        colour, locus, duv, gel = white.colour, white.locus, white.duv, white.gel
        return Fader(self.name, self.purpose, self.dim, white.cct, colour, locus, duv, gel)


class MarkForm(Form):
    meter: Literal["flat", "dome", "spot"]
    where: str
    at_m: Triple
    axis: Triple


class ErrorForm(Form):
    value: float


class TracingForm(Form):
    seed: int
    passes: int
    samples_per_pixel: int
    seconds: float
    follow_all: bool
    picture_error: ErrorForm


class ReplicaForm(Form):
    values: Annotated[list[list[Number]], Field(min_length=2)]


class FindingForm(Form):
    value: Number | str | None
    error: Number | None
    unit: str
    meaning: str
    why: str = ""
    parts: dict[str, Any] | None = None


class FrameForm(Form):
    metre_per_pixel: Annotated[float, Field(gt=0.0, le=1.0)]
    width: Annotated[int, Field(gt=0)]
    chin: Number
    cheek: Number


class FaceForm(Form):
    key: Annotated[int, Field(ge=0)]
    key_at_sitter_left: bool
    fixed: dict[str, FindingForm]
    groups: list[str]
    shape: list[int]
    light: list[Number]
    catchlights: list[dict[str, Any]] | None
    frame: FrameForm | None
    missing: list[str]


class NumbersForm(Form):
    scene: dict[str, Any]
    mix: Annotated[list[FaderForm], Field(min_length=1)]
    marks: dict[str, MarkForm]
    tracing: TracingForm
    eyes: TracingForm | None
    replicas: ReplicaForm
    face: FaceForm | None
    not_given_by_marks: list[str]


def check(data: dict[str, Any], where: str) -> NumbersForm:
    """The numbers. Raises InputError, its line beginning with `where`, for what `write` did not make."""
    try:
        form = NumbersForm.model_validate(data)
    except ValidationError as wrong:
        raise InputError(f"{where}: {_line(wrong.errors(include_url=False)[0])}") from None
    lights = len(form.mix)
    if len({fader.name for fader in form.mix}) < lights:
        raise InputError(f"{where}: mix: two lights have one name; expected a name for each")
    for i, fader in enumerate(form.mix, 1):
        for path, text in fader.white().problems():
            raise InputError(f"{where}: mix[{i}].{dotted(path)}: {text}")
    count = len(form.marks) * lights * 6
    for i, values in enumerate(form.replicas.values, 1):
        if len(values) != count:
            made = f"{count} numbers (6 for each of {len(form.marks)} marks and {lights} lights)"
            raise InputError(f"{where}: replicas.values[{i}]: expected {made}; got {len(values)}")
    if form.face is not None:
        _check_face(form.face, lights, where)
    return form


def _check_face(face: FaceForm, lights: int, where: str) -> None:
    if face.key >= lights:
        raise InputError(
            f"{where}: face.key: expected 0 to {lights - 1}, the number of a light; got {face.key}"
        )
    ends = [len(face.groups), lights, 2, 3]
    if len(face.shape) != 5 or face.shape[0] < 2 or face.shape[1:] != ends:
        raise InputError(f"{where}: face.shape: expected 2 or more, then {ends}; got {face.shape}")
    count = face.shape[0] * len(face.groups) * lights * 6
    if len(face.light) != count:
        raise InputError(f"{where}: face.light: expected {count} numbers; got {len(face.light)}")
    try:
        glints = TypeAdapter(list[Catchlight]).validate_python(face.catchlights or [])
    except ValidationError as wrong:
        error = wrong.errors(include_url=False)[0]
        raise InputError(f"{where}: {_line(error, ('face', 'catchlights'))}") from None
    for i, glint in enumerate(glints, 1):
        if len(glint.luminance) != lights:
            got = len(glint.luminance)
            raise InputError(
                f"{where}: face.catchlights[{i}].luminance: expected {lights} numbers, one a light; got {got}"
            )


EXPECTED = {
    "dict": "a table in braces",
    "model": "a table in braces",
    "dataclass": "a table in braces",
    "list": "a list in brackets",
    "tuple": "a list in brackets",
    "string": "text in quotes",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
}
"""By the first word of a kind of error."""


def _line(error: ErrorDetails, above: tuple[str | int, ...] = ()) -> str:
    path, kind, found = (*above, *error["loc"]), error["type"], error["input"]
    if kind == "missing":
        return f"{dotted(path)}: missing; expected it as the preview wrote it"
    limits: dict[str, Any] = error.get("ctx", {})
    words = {
        "literal_error": f"one of {limits.get('expected')}",
        "greater_than": f"more than {limits.get('gt')}",
        "greater_than_equal": f"{_plain(limits.get('ge'))} or more",
        "less_than_equal": f"at most {_plain(limits.get('le'))}",
        "too_short": f"at least {limits.get('min_length')} values",
        "too_long": f"at most {limits.get('max_length')} values",
    }
    expected = words.get(kind) or EXPECTED.get(kind.split("_")[0], "what the preview wrote")
    return f"{dotted(path)}: expected {expected}; got {'nothing' if found is None else show(found)}"


def _plain(limit: Any) -> str:
    return f"{limit:g}" if isinstance(limit, (int, float)) else "a limit"
