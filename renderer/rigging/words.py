"""The figures of a rig in plain lines."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Mapping

from renderer.rigging.clearance import Clearance
from renderer.rigging.gaze import CONE, Seen, even_field
from renderer.rigging.stand import Stand, Tip
from renderer.rigging.supply import Draw
from renderer.scene.circuit import Circuit
from renderer.scene.support import MOST_KILOGRAMS, Support

WIDTH = 108
LABEL = 11
Told = tuple[str, str]
"""A label and its text; the heading and what goes on from the label before it have none."""


def row(label: str, text: str) -> list[str]:
    """A label and its text, wrapped."""
    head = f"  {label:<{LABEL}}" if len(label) < LABEL else f"  {label}  "
    return textwrap.wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * (LABEL + 2))


def headed(text: str) -> list[str]:
    """A heading that stands out to the left, wrapped."""
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent=" " * (LABEL + 2))


def hung(head: str, text: str) -> list[str]:
    """A text under its head, wrapped."""
    return textwrap.wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def _lines(told: Iterator[Told]) -> Iterator[str]:
    """The heading, then a row for each label."""
    _, heading = next(told)
    yield from headed(heading)
    for label, text in told:
        yield from row(f"  {label}" if label else "", text)


def of_stand(name: str, support: Support, found: Stand) -> Iterator[str]:
    """One stand: its boom, its tipping, its bag."""
    yield from _lines(stand_told(name, support, found))


def stand_told(name: str, support: Support, found: Stand) -> Iterator[Told]:
    """What is said of a stand, not wrapped yet."""
    yield (
        "",
        f"support.{name}: holds light.{found.light}, {support.load:g} kg at {support.out:.2f} m from the"
        " mast",
    )
    if support.boom is not None:
        boom = support.boom
        hangs = "" if boom.counterweight is None else f", {boom.counterweight:g} kg hang there"
        hangs = hangs or (", reckoned with" if found.balance is not None else "")
        balance = (
            f"{found.balance:.2f} kg at {boom.counterweight_arm:g} m balance it"
            if found.balance is not None
            else f"over {MOST_KILOGRAMS:g} kg at {boom.counterweight_arm:g} m would balance it, which is"
            " impossible with this arm"
        )
        yield (
            "boom",
            f"the light {found.load_moment:.1f} N m, with the arm ({boom.mass:g} kg at {boom.centre:g} m)"
            f" {found.boom_moment:.1f} N m; {balance}{hangs}",
        )
    if not found.tips:
        return
    yield (
        "tipping",
        f"over a line {found.edge:.2f} m from the mast, the worst of {support.legs} legs of"
        f" {support.legs_radius:g} m; restoring / overturning, at 1 it goes over",
    )
    for bag in (False, True) if found.bagged else (False,):
        tips = [tip for tip in found.tips if tip.state == "as rigged" and tip.bag == bag]
        yield ("", f"{'with the bag' if bag else 'no bag'}: {', '.join(_margin(tip) for tip in tips)}")
    bare = [(state, found.weakest(state)) for state in ("light off", "counterweight off")]
    ends = [f"{state} {_margin(tip)}" for state, tip in bare if tip is not None]
    if ends:
        yield ("", f"one end bare: {', '.join(ends)}")
    if found.bag_to_stand is None:
        yield (
            "bag",
            f"none up to {MOST_KILOGRAMS:g} kg makes it stand at {support.bag_arm:.2f} m from the mast",
        )
    elif found.bag_to_stand > 0.0:
        yield (
            "bag",
            f"{found.bag_to_stand:.2f} kg at {support.bag_arm:.2f} m from the mast, away from the light, make"
            " it just stand, before any factor",
        )
    if found.pull is not None:
        yield ("pull", f"{found.pull:.0f} N, level, at {support.height:g} m tip it as it is")
    if found.caught is not None and support.secondary is not None:
        force, times = found.caught
        yield (
            "caught",
            f"after {support.secondary.drop:g} m, stopped in {support.secondary.stop:g} m: {force:.0f} N on"
            f" the secondary attachment, {times:.1f} times the weight",
        )


def _margin(tip: Tip) -> str:
    if math.isinf(tip.margin):
        return f"nothing tips it to the {tip.side}"
    return f"{tip.margin:.2f} to the {tip.side} ({tip.restoring:.0f} / {tip.overturning:.0f} N m)"


def of_circuit(name: str, circuit: Circuit, draw: Draw) -> Iterator[str]:
    """One circuit: its lights, watts, amperes."""
    yield from _lines(circuit_told(name, circuit, draw))


def circuit_told(name: str, circuit: Circuit, draw: Draw) -> Iterator[Told]:
    """What is said of a circuit, not wrapped yet."""
    parts = [f"{lamp} {watts:g} W" for lamp, watts in draw.lights.items()]
    parts += [f"other {circuit.other_watts:g} W"] if circuit.other_watts else []
    on = ", ".join(parts) or "nothing"
    yield "", f"circuit.{name}: {circuit.volts:g} V, breaker {circuit.amps:g} A: {on}"
    factor = f", power factor {circuit.power_factor:g}" if circuit.power_factor != 1.0 else ""
    rule = (
        f"continuous, it counts {100 * draw.factor:g} % ({draw.amps * draw.factor:.2f} A; NEC 210.19(A)(1),"
        f" 210.20(A)), so {draw.allowed:.2f} A may be drawn"
        if draw.factor > 1.0
        else f"not continuous: {draw.allowed:.2f} A may be drawn"
    )
    yield (
        "draws",
        f"{draw.watts:g} W at full{factor}: {draw.amps:.2f} A, {100 * draw.share:.0f} % of the breaker;"
        f" {rule}",
    )


def of_heights(heights: Mapping[str, Clearance]) -> Iterator[str]:
    """How high everything is, and what is under and over it."""
    for name, it in heights.items():
        text = f"lowest part {it.lowest:.2f} m over the floor"
        if it.over_head is not None:
            text += f", {it.over_head:.2f} m over the sitter's hair"
        text += f"; top {it.highest:.2f} m"
        if it.to_ceiling is not None:
            text += f", {it.to_ceiling:.2f} m to the ceiling"
        yield from headed(f"{name}: {text}")


def of_eye(found: Mapping[str, Seen], brightest: str | None, lux: float | None) -> Iterator[str]:
    """What the sitter looks into."""
    field = None if lux is None else even_field(lux)
    if field is not None:
        yield from row("eye", f"{lux:.0f} lux at the eye, as an even field of {field:.0f} cd/m2 would give")
    if brightest is None:
        yield from row("eye", f"no source shines to the eyes within {CONE:g} degrees of the line of sight")
        return
    it = found[brightest]
    times = f", {it.luminance / field:,.0f} times that field" if field else ""
    yield from row(
        "eye",
        f"brightest within {CONE:g} degrees of the line of sight: {brightest}, {it.luminance:,.0f}"
        f" cd/m2 at {it.angle:.0f} degrees{times}",
    )
