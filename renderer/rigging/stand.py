"""One stand of a scene in figures: its boom, and how near it is to going over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from renderer.rigging.statics import (
    Mass,
    bag_for,
    catching_force,
    counterweight,
    mirrored,
    moment,
    overturning,
    restoring,
    tip_margin,
    tipping_pull,
)
from renderer.scene.support import MOST_KILOGRAMS, Support

Side = Literal["light", "counterweight"]
State = Literal["as rigged", "light off", "counterweight off"]


@dataclass(frozen=True)
class Tip:
    """One way of going over.

    side         to the light, or to the counterweight
    state        as rigged, or with one end bare, as it is while it is being rigged and struck
    bag          whether the bag is on the base
    restoring    N m that hold it down, about the line that it goes over
    overturning  N m that tip it
    margin       restoring / overturning; under 1 it goes over; infinite where nothing tips it
    """

    side: Side
    state: State
    bag: bool
    restoring: float
    overturning: float
    margin: float


@dataclass(frozen=True)
class Stand:
    """What a support comes to.

    light          the name of the light it holds
    edge           m from the mast to the line it goes over in its worst direction
    load_moment    N m of the light alone about the mast
    boom_moment    N m of the light and the boom's arm about the mast, without counterweight
    balance        kg of counterweight that balance these; None without a boom, and where no counterweight
                   that a stand carries (500 kg) does
    counterweight  kg that are reckoned with: the scene's own, or else `balance`; None without a boom
    tips           all ways of going over: each side, without and with the scene's bag, in each state; none
                   where the boom is without a counterweight
    bag_to_stand   kg of bag at the scene's place for it that make it just stand, before any factor; None
                   where up to 500 kg do not, or without `tips`
    pull           N, level, at the top of the mast, that tip it as it is; None without a height or `tips`
    caught         N on the secondary attachment, and times the light's weight; None without one
    """

    light: str
    edge: float
    load_moment: float
    boom_moment: float
    balance: float | None
    counterweight: float | None
    tips: tuple[Tip, ...]
    bag_to_stand: float | None
    pull: float | None
    caught: tuple[float, float] | None

    @property
    def bagged(self) -> bool:
        """Whether the scene puts a bag on it."""
        return any(tip.bag for tip in self.tips)

    def weakest(self, state: State = "as rigged") -> Tip | None:
        """The side it goes over to soonest in that state, with the scene's bag; None without such a state."""
        ways = [tip for tip in self.tips if tip.state == state and tip.bag == self.bagged]
        return min(ways, key=lambda tip: tip.margin, default=None)


def stand(name: str, support: Support) -> Stand:
    """The figures of the support of that name.

    Whichever way it would go, the base is taken to stand in its worst direction to that, `support.edge`.
    """
    boom, edge = support.boom, support.edge
    load = Mass(support.load, support.out)
    arm = [Mass(boom.mass, boom.centre)] if boom is not None else []
    balance = _carried(counterweight([load, *arm], boom.counterweight_arm)) if boom is not None else None
    hung = boom.counterweight if boom is not None and boom.counterweight is not None else balance
    weight = [Mass(hung, -boom.counterweight_arm)] if boom is not None and hung is not None else []
    bare = [Mass(support.mass, 0.0), *arm]
    rigged = [*bare, *weight, load]
    states: dict[State, list[Mass]] = {"as rigged": rigged}
    if weight:
        states |= {"light off": [*bare, *weight], "counterweight off": [*bare, load]}
    bag = Mass(support.bag.mass, -support.bag_arm) if support.bag is not None else None
    stands_free = boom is None or hung is not None
    as_it_is = {side: _seen_from(side, rigged, bag, edge) for side in _sides(support)}
    caught = None
    if support.secondary is not None:
        fall = support.secondary
        caught = catching_force(support.load, fall.drop, fall.stop), fall.drop / fall.stop + 1.0
    return Stand(
        support.holds(name),
        edge,
        moment([load]),
        moment([load, *arm]),
        balance,
        hung,
        tuple(_tips(support, states, bag)) if stands_free else (),
        _carried(bag_for(rigged, edge, -support.bag_arm)) if stands_free else None,
        min(tipping_pull(masses, edge, support.height) for masses in as_it_is.values())
        if support.height is not None and stands_free
        else None,
        caught,
    )


def _carried(kg: float) -> float | None:
    """Kilograms that a stand can carry; None for more, and for what is no number."""
    return kg if kg <= MOST_KILOGRAMS else None


def _sides(support: Support) -> tuple[Side, ...]:
    return ("light",) if support.boom is None else ("light", "counterweight")


def _tips(support: Support, states: dict[State, list[Mass]], bag: Mass | None) -> list[Tip]:
    found = []
    for state, masses in states.items():
        for put in (None,) if bag is None else (None, bag):
            for side in _sides(support):
                turned = _seen_from(side, masses, put, support.edge)
                sums = restoring(turned, support.edge), overturning(turned, support.edge)
                margin = tip_margin(turned, support.edge)
                found.append(Tip(side, state, put is not None, *sums, margin))
    return found


def _seen_from(side: Side, masses: list[Mass], bag: Mass | None, edge: float) -> list[Mass]:
    """All masses with arms positive to that side.

    The bag hangs inside the base, so it never reaches over an edge. A leg that points straight to the
    counterweight stands between two edges, and on it the bag is level with neither: it counts as on the edge.
    """
    bags = [bag] if bag is not None else []
    if side == "light":
        return [*masses, *bags]
    return [*mirrored(masses), *(Mass(mass.kg, min(mass.arm, edge)) for mass in mirrored(bags))]
