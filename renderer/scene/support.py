"""What holds a light up: a stand on legs, a boom with its counterweight, a bag, a secondary attachment.

All arms are horizontal distances from the mast, so an arm that slopes is written by its shadow on the floor.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from renderer.scene.field import CENTIMETRES, MILLIMETRES, Problem, Quantity, Size, Table, plain

MOST_KILOGRAMS = 500.0
GRAMS = (0.001, "grams")
Kilograms = Annotated[float, Quantity("kilograms", 0.0, MOST_KILOGRAMS, slips=(GRAMS,))]
Weight = Annotated[float, Quantity("kilograms", 0.0, MOST_KILOGRAMS, above=True, slips=(GRAMS,))]
Arm = Annotated[float, Quantity("metres", -10.0, 10.0, slips=(CENTIMETRES, MILLIMETRES))]
BoomArm = Annotated[float, Quantity("metres", 0.05, 10.0, slips=(CENTIMETRES, MILLIMETRES))]
MastHeight = Annotated[float, Quantity("metres", 0.2, 10.0, slips=(CENTIMETRES, MILLIMETRES))]
Reach = Annotated[float, Quantity("metres", 0.0, 10.0, slips=(CENTIMETRES, MILLIMETRES))]


class Boom(Table):
    """An arm across the mast: the light at one end, a counterweight at the other."""

    arm: BoomArm = Field(description="metres, horizontal, from the mast to the light")
    mass: Kilograms = Field(default=0.0, description="kilograms of the arm itself")
    centre: Arm = Field(
        default=0.0, description="metres from the mast to the arm's own centre of mass, positive to the light"
    )
    counterweight_arm: BoomArm = Field(description="metres from the mast to the counterweight")
    counterweight: Kilograms | None = Field(
        default=None, description="kilograms hung there; unless given, what balances the arm"
    )


class Bag(Table):
    """A bag of sand on a leg."""

    mass: Weight = Field(description="kilograms")
    arm: Arm | None = Field(
        default=None,
        description="metres from the mast, positive away from the light; over the far leg unless given",
    )


class Secondary(Table):
    """A second attachment that catches the light where the first fails."""

    drop: Annotated[float, Quantity("metres", 0.0, 10.0, slips=(CENTIMETRES, MILLIMETRES))] = Field(
        description="metres that it falls before it is caught"
    )
    stop: Size = Field(description="metres in which it is brought to rest")


class Support(Table):
    """One stand."""

    light: str | None = Field(
        default=None, description="the light it holds; the one of its own name unless given"
    )
    legs: Annotated[int, Quantity("legs", 3, 6, whole=True)] = Field(
        default=3, description="number of legs, evenly spread"
    )
    legs_radius: Size = Field(description="metres from the mast to the foot of a leg")
    mass: Weight = Field(description="kilograms of the stand itself, without light, boom and bag")
    load: Weight = Field(description="kilograms of the light with all that hangs on it")
    reach: Reach = Field(default=0.0, description="metres that the light stands out from the mast; or boom")
    height: MastHeight | None = Field(
        default=None, description="metres from the floor to the top of the mast"
    )
    boom: Boom | None = Field(default=None, description="the boom; without it the light is on the mast")
    bag: Bag | None = Field(default=None, description="the bag on its base")
    secondary: Secondary | None = Field(default=None, description="what catches the light")

    @property
    def edge(self) -> float:
        """Metres from the mast to the nearest line between two neighbouring feet: r cos(180 / legs).

        It goes over about that line in its worst direction: for three legs at half their radius.
        """
        return self.legs_radius * math.cos(math.pi / self.legs)

    @property
    def far_side(self) -> float:
        """Metres from the mast, square to that line, to the feet on the other side of it: a foot right
        opposite where the legs are odd in number, two that stand level where they are even."""
        return self.legs_radius if self.legs % 2 else self.edge

    @property
    def bag_arm(self) -> float:
        """Metres from the mast to the bag, away from the light."""
        return self.far_side if self.bag is None or self.bag.arm is None else self.bag.arm

    @property
    def out(self) -> float:
        """Metres from the mast to the light."""
        return self.boom.arm if self.boom is not None else self.reach

    def holds(self, name: str) -> str:
        """The light that the support of this name holds."""
        return self.light if self.light is not None else name

    def problems(self) -> Iterator[Problem]:
        if self.boom is not None and self.reach:
            yield ("reach",), "is given beside boom: expected boom.arm alone, which says it already"
        if self.boom is not None and abs(self.boom.centre) > self.boom.arm + self.boom.counterweight_arm:
            yield ("boom", "centre"), f"is off the arm: got {plain(self.boom.centre)} metres"
        if self.bag is not None and self.bag.arm is not None:
            least, most = -self.edge, self.far_side
            if not least - 1e-9 <= self.bag.arm <= most + 1e-9:
                yield (
                    ("bag", "arm"),
                    f"the bag is off the base: expected metres from {plain(round(least, 3))} to"
                    f" {plain(round(most, 3))}; got {plain(self.bag.arm)}",
                )
