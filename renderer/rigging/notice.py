"""What to look at twice in a rig, and who decides: this program permits nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from renderer.rigging.clearance import Clearance
from renderer.rigging.stand import Stand
from renderer.rigging.supply import Draw
from renderer.scene.caution import CEILING_GAP, HEADROOM
from renderer.scene.models import Scene
from renderer.scene.support import MOST_KILOGRAMS

BALANCE_WITHIN = 0.05
"""A counterweight is wanted within 5 % of what balances: common practice, no source."""


def always() -> tuple[str, ...]:
    """Said under every report. The rules are common practice, no source."""
    return (
        "these figures are sums over what the scene says, with the mast upright on a level, firm floor and"
        " nothing knocked, pulled or blown; they permit nothing and hold no factor of their own",
        "a competent rigger decides on stands, booms and whatever hangs over people, a licensed electrician"
        " on circuits; local codes and the makers' manuals stand above every figure here",
        "what hangs over people needs a secondary attachment of its own, rated by its maker and as short as"
        " it can be; a counterweight needs one too",
        "bag every stand, the bag clear of the floor; on which leg, the maker's manual says",
    )


def notices(
    scene: Scene,
    stands: Mapping[str, Stand],
    circuits: Mapping[str, Draw],
    heights: Mapping[str, Clearance],
) -> Iterator[str]:
    """One line for each thing to look at twice, with the name of the stand, circuit or light."""
    for name, found in stands.items():
        yield from (f"support.{name}: {text}" for text in _of_stand(scene, name, found, heights))
    for name, draw in circuits.items():
        if draw.over:
            rule = f", its {draw.breaker:g} A over {draw.factor:g}" if draw.factor > 1.0 else ""
            yield (
                f"circuit.{name}: draws {draw.amps:.2f} A, and {draw.allowed:.2f} A may be drawn{rule}: take"
                f" {draw.watts * (1.0 - draw.allowed / draw.amps):.0f} W off it"
            )
    for name, it in heights.items():
        if it.over_head is not None and it.under_headroom:
            yield (
                f"{name}: its lowest part is at {it.lowest:.2f} m over where people stand up and walk, under"
                f" {HEADROOM} m; mark it or raise it"
            )
        if it.to_ceiling is not None and it.to_ceiling < CEILING_GAP:
            yield f"{name}: {it.to_ceiling:.2f} m to the ceiling; mind heat, sprinklers and detectors"


def _of_stand(scene: Scene, name: str, found: Stand, heights: Mapping[str, Clearance]) -> Iterator[str]:
    now = found.weakest()
    if now is not None and now.margin < 1.0:
        yield f"goes over to the {now.side} as it is: {now.restoring:.0f} against {now.overturning:.0f} N m"
    for state in ("light off", "counterweight off"):
        bare = found.weakest(state)
        if bare is not None and bare.margin < 1.0:
            yield (
                f"with the {state} it goes over to the {bare.side}; while it is rigged and struck the arm is"
                " lowered or held, as the maker's manual says"
            )
    if found.balance is not None and found.counterweight is not None:
        off_by = found.counterweight - found.balance
        if abs(off_by) > BALANCE_WITHIN * found.balance:
            less = "less" if off_by < 0.0 else "more"
            yield f"its counterweight is {abs(off_by):.1f} kg {less} than balances the arm"
    if scene.support[name].boom is not None and found.balance is None:
        yield f"no counterweight up to {MOST_KILOGRAMS:g} kg balances it: impossible with this arm"
    if scene.support[name].bag is None:
        yield "has no bag"
    held = heights.get(f"light.{found.light}")
    mast = scene.support[name].height
    if held is not None and mast is not None and scene.support[name].boom is None and held.lowest > mast:
        yield (
            f"its mast ends at {mast:.2f} m, under light.{found.light}, whose lowest part is at"
            f" {held.lowest:.2f} m: look at both heights"
        )
    if held is not None and held.over_head is not None and scene.support[name].secondary is None:
        yield f"light.{found.light} hangs by the sitter's head and has no secondary attachment in the scene"
