"""Statics and current against worked examples, and against where the centre of gravity lies."""

from __future__ import annotations

import math

import numpy as np
import pytest

from renderer.rigging import statics, supply
from renderer.rigging.stand import Stand, Tip, stand
from renderer.rigging.statics import Mass
from renderer.scene.support import Support


def support(**given: object) -> Support:
    return Support.model_validate({"legs_radius": 0.5, "mass": 8, "load": 6, **given})


BOOM = {"arm": 1.8, "mass": 3, "centre": 0.6, "counterweight_arm": 0.7}


def tip(found: Stand, side: str, state: str = "as rigged", bag: bool = False) -> Tip:
    (one,) = (t for t in found.tips if (t.side, t.state, t.bag) == (side, state, bag))
    return one


def test_boom_balance() -> None:
    # Statics, the sum of mass x arm equal on both sides: 6 kg at 1.8 m and an arm of 3 kg with its centre at
    # 0.6 m are balanced by (10.8 + 1.8) / 0.7 = 18.00 kg at 0.7 m. The light's moment is
    # 105.95 N m with 9.81 m/s2.
    found = stand("key", support(boom=BOOM))
    assert found.balance == pytest.approx(18.0, abs=1e-9)
    assert found.load_moment * 9.81 / statics.GRAVITY == pytest.approx(105.95, abs=5e-3)
    assert found.boom_moment == pytest.approx(found.load_moment + 3 * 0.6 * 9.80665)


def test_boom_without_an_arm_of_its_own() -> None:
    # Statics: 3.5 kg at 1.6 m need 9.3 kg at 0.6 m.
    boom = {"arm": 1.6, "counterweight_arm": 0.6}
    assert stand("key", support(load=3.5, boom=boom)).balance == pytest.approx(9.3, abs=0.05)


def test_a_stand_goes_over_without_its_bag() -> None:
    # Statics: 6 kg at 1.2 m sideways on three legs of 0.5 m, the stand 8 kg; in the worst direction the edge
    # is r cos 60 = 0.25 m from the mast. A bag over the far leg, 0.75 m from that edge, needs
    # (6 x 0.95 - 8 x 0.25) / 0.75 = 4.93 kg.
    found = stand("key", support(reach=1.2))
    assert found.edge == pytest.approx(0.25)
    assert found.bag_to_stand == pytest.approx(4.93, abs=5e-3)
    assert tip(found, "light").margin == pytest.approx(2.0 / 5.7)
    just = stand("key", support(reach=1.2, height=2.0, bag={"mass": found.bag_to_stand}))
    assert tip(just, "light", bag=True).margin == pytest.approx(1.0)
    assert just.pull == pytest.approx(0.0, abs=1e-9)


def test_a_light_that_is_caught() -> None:
    # m g (h / s + 1): 6 kg, 0.3 m of drop, stopped in 0.05 m: 412 N, 7.0 times the weight.
    found = stand("key", support(secondary={"drop": 0.3, "stop": 0.05}))
    assert found.caught is not None
    assert found.caught[0] == pytest.approx(412.0, abs=0.5)
    assert found.caught[1] == pytest.approx(7.0)


@pytest.mark.parametrize(("volts", "amps"), [(120.0, 2.50), (230.0, 1.304)])
def test_current(volts: float, amps: float) -> None:
    # I = P / V, 300 W.
    assert supply.amperes(300.0, volts) == pytest.approx(amps, abs=5e-4)
    assert supply.amperes(300.0, volts, 0.5) == pytest.approx(2.0 * amps, abs=1e-3)


@pytest.mark.parametrize(("breaker", "amps", "watts", "heads"), [(15, 12, 1440, 4), (20, 16, 1920, 5)])
def test_continuous_load(breaker: float, amps: float, watts: float, heads: int) -> None:
    # NEC 210.19(A)(1), 210.20(A): 125 %. Heads of 350 W at 120 V.
    assert supply.allowed(breaker) == pytest.approx(amps)
    assert supply.allowed(breaker) * 120.0 == pytest.approx(watts)
    assert supply.how_many(350.0, 120.0, breaker) == heads
    assert supply.allowed(breaker, continuous=False) == breaker


@pytest.mark.parametrize("legs", [3, 4, 5, 6])
def test_worst_edge_of_a_base(legs: int) -> None:
    """Against the base drawn and turned: the least way out of the polygon of the feet over all directions."""
    base = support(legs=legs, legs_radius=0.6)
    turns = 2 * math.pi * np.arange(legs) / legs
    feet = 0.6 * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    ways = np.linspace(0.0, 2 * math.pi, 721)
    least = math.inf
    for a, b in zip(feet, np.roll(feet, -1, axis=0), strict=True):
        normal = np.array([b[1] - a[1], a[0] - b[0]]) / np.hypot(*(b - a))
        towards = np.cos(ways) * normal[0] + np.sin(ways) * normal[1]
        least = min(least, float(((normal @ a) / towards[towards > 1e-9]).min()))
    assert base.edge == pytest.approx(least, rel=1e-4)
    opposite = feet @ np.array([math.cos(math.pi / legs), math.sin(math.pi / legs)])
    assert base.far_side == pytest.approx(-opposite.min())


def test_margin_is_one_where_the_centre_of_gravity_is_over_the_edge() -> None:
    rng = np.random.default_rng(7)
    sides = []
    for _ in range(200):
        masses = [Mass(*pair) for pair in zip(rng.uniform(0.5, 20, 5), rng.uniform(-2, 2, 5), strict=True)]
        edge = float(rng.uniform(0.1, 0.8))
        centre = sum(m.kg * m.arm for m in masses) / sum(m.kg for m in masses)
        margin = statics.tip_margin(masses, edge)
        assert (margin > 1.0) == (centre < edge)
        sides.append(margin > 1.0)
        whole = sum(m.kg for m in masses) * statics.GRAVITY
        assert statics.restoring(masses, edge) - statics.overturning(masses, edge) == pytest.approx(
            whole * (edge - centre)
        )
    assert 20 < sum(sides) < 200  # both answers were met


def test_a_balanced_boom_stands_on_its_weight_alone() -> None:
    """Balanced, the centre of gravity is over the mast: what holds it exceeds what tips it by W e."""
    found = stand("key", support(boom=BOOM, height=2.3))
    weight = (8 + 6 + 3 + 18) * 9.80665
    for side in ("light", "counterweight"):
        one = tip(found, side)
        assert one.restoring - one.overturning == pytest.approx(weight * 0.25)
    assert found.pull == pytest.approx(weight * 0.25 / 2.3)
    assert found.bag_to_stand == 0.0


def test_one_end_bare() -> None:
    # By hand, about the edge 0.25 m from the mast: the counterweight 18 x 0.45 = 8.1 kg m against the stand
    # 8 x 0.25 and the arm 3 x 0.85; and the light 6 x 1.55 + 3 x 0.35 = 10.35 kg m against the stand's 2.
    found = stand("key", support(boom=BOOM))
    assert tip(found, "counterweight", "light off").margin == pytest.approx((2.0 + 2.55) / 8.1)
    assert tip(found, "light", "counterweight off").margin == pytest.approx(2.0 / 10.35)
    bagged = stand("key", support(boom=BOOM, bag={"mass": 20}))
    # Over the far leg the bag is 0.75 m inside the light's edge, and level with the counterweight's.
    assert tip(bagged, "light", "counterweight off", True).margin == pytest.approx(17.0 / 10.35)
    assert tip(bagged, "counterweight", "light off", True).margin == pytest.approx(4.55 / 8.1)
    in_the_middle = stand("key", support(boom=BOOM, bag={"mass": 20, "arm": 0}))
    assert tip(in_the_middle, "counterweight", "light off", True).margin == pytest.approx(9.55 / 8.1)


def test_nothing_tips_a_light_on_its_mast() -> None:
    found = stand("key", support())
    assert [t.margin for t in found.tips] == [math.inf]
    assert found.bag_to_stand == 0.0
    assert (found.balance, found.counterweight, found.pull, found.caught) == (None, None, None, None)


def test_a_counterweight_of_the_scene_is_the_one_reckoned_with() -> None:
    found = stand("key", support(boom=BOOM | {"counterweight": 10}))
    assert found.counterweight == 10
    assert found.balance == pytest.approx(18.0)
    # By hand: stand 8 x 0.25 and counterweight 10 x 0.95 against 10.35 kg m.
    assert tip(found, "light").margin == pytest.approx(11.5 / 10.35)


def test_a_bag_on_the_edge_helps_nothing() -> None:
    masses = [Mass(8.0, 0.0), Mass(6.0, 1.2)]
    assert statics.bag_for(masses, 0.25, 0.25) == math.inf
    assert statics.bag_for(masses, 0.25, -0.5, margin=1.5) == pytest.approx((1.5 * 5.7 - 2.0) / 0.75)
