"""Findings held against the scene's targets: pass, warn, fail, and by how much.

The margins of a warning are changes that a crew would still let pass (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from renderer.meter.face.finding import Finding
from renderer.scene.target import OF_GLASSES, Target
from renderer.units import signed

FAR_EYE = 0.5  # stops that the eye on the shadow side may lie lower
ONE_RATIO = 1.0 / 3.0  # stop that a ratio or a level given as one number may be missed by and pass
GIVE = ", give or take 1/3 stop"
"""How `ONE_RATIO` is said behind such a number."""


@dataclass(frozen=True)
class Rule:
    """Which target a finding is held against; `margin` beyond it is a warning, in units of the finding (of a
    ratio: stops)."""

    key: str
    margin: float
    unit: str
    kind: str = "span"  # span, least, most, ratio


RULES = {
    "lighting_ratio": Rule("lighting_ratio", 1.0 / 6.0, "stops", "ratio"),
    "key_to_fill": Rule("key_to_fill", 1.0 / 6.0, "stops", "ratio"),
    "eye_shade": Rule("eye_shade_min", 0.5, "stops", "least"),
    "brow_margin": Rule("brow_margin_min", 5.0, "deg", "least"),
    "nose_shadow": Rule("nose_shadow", 3.0, "mm"),
    "edge.nose": Rule("nose_edge", 2.0, "mm"),
    "under_chin": Rule("under_chin", 0.5, "stops"),
    "forehead": Rule("forehead_max", 1.0 / 3.0, "stops", "most"),
    "evenness": Rule("evenness_max", 1.0 / 6.0, "stops", "most"),
    "catchlights": Rule("catchlights_max", 0.0, "", "most"),
    "second_catchlight": Rule("second_catchlight_max", 0.5, "stops", "most"),
    "catchlight_size": Rule("catchlight_size", 3.0, "%"),
    "glare_pupil": Rule("glare_pupil_max", 0.0, "%", "most"),
    "glare_lens": Rule("glare_lens_max", 5.0, "%", "most"),
    "glare_margin": Rule("glare_margin_min", 2.0, "deg", "least"),
    "background": Rule("background", 0.5, "stops"),
    "separation": Rule("separation_min", 15.0, "%", "least"),
    "rim": Rule("rim", 0.5, "stops"),
    "ambient_lift": Rule("ambient_lift_max", 0.5, "stops", "most"),
}
BESIDE_RULES = ("pattern", "level")  # targets that are judged each in its own way


@dataclass(frozen=True)
class Verdict:
    """result: "pass", "warn" or "fail"; wanted and reason in words.

    miss  by how many margins of a warning it is missed, 0 where it is met; of a word nan where it is not
    """

    result: str
    wanted: str
    reason: str
    miss: float = 0.0

    def as_json(self) -> dict[str, Any]:
        return {"verdict": self.result, "wanted": self.wanted, "reason": self.reason}


@dataclass(frozen=True)
class Wanted:
    """A target as a band of a number: `low` to `high` are met, `margin` beyond is a warning.

    log    whether it is log2 of the finding that the band is of
    words  as a person reads it
    one    a single number was written: the middle of the band
    """

    low: float
    high: float
    margin: float
    unit: str
    words: str
    log: bool = False
    one: bool = False

    def scale(self, value: float) -> float:
        """The finding's value in units of the band."""
        if not self.log:
            return value
        return math.log2(value) if value > 0.0 else -math.inf

    def judged(self, value: float) -> Verdict:
        """The verdict on the value of a finding."""
        value = self.scale(value)
        if math.isnan(value):
            return Verdict("fail", self.words, "it has no value here", math.nan)
        over, under = value - self.high, value - self.low
        miss = over if over > 0.0 else under if under < 0.0 else 0.0
        if miss == 0.0:
            return Verdict("pass", self.words, "")
        side = "over" if miss > 0.0 else "under"
        far = math.isfinite(miss)
        places = 1 if abs(miss) >= 0.05 else 2
        by = f"{abs(miss):.{places}f} {self.unit} {side}".replace("  ", " ") if far else signed(miss)
        share = miss / self.margin if self.margin > 0.0 else miss
        return Verdict("warn" if abs(miss) <= self.margin else "fail", self.words, by, share)


def verdicts(findings: dict[str, Finding], target: Target | None) -> dict[str, Verdict]:
    """A verdict for every finding that the scene states a target for."""
    found: dict[str, Verdict] = {}
    if target is None:
        return found
    for name, finding in findings.items():
        if name == "pattern" and target.pattern is not None:
            found[name] = _pattern(finding, target.pattern)
            continue
        wanted = wanted_of(name, finding, target)
        if wanted is not None:
            found[name] = wanted.judged(finding.number)
    return found


def wanted_of(name: str, finding: Finding, target: Target) -> Wanted | None:
    """The band that a finding of that name is held against; None without a target for it."""
    rule = RULES.get(name) or RULES.get(name.split(".")[0])
    wanted = getattr(target, rule.key) if rule else None
    if rule is None or wanted is None:
        return None
    if name.startswith("eye_shade") and "shadow side" in finding.why:
        wanted -= FAR_EYE
    return _band(rule, wanted)


WORN = "; it takes spectacles, [sitter.glasses]"


def unanswered(findings: dict[str, Finding], target: Target | None) -> list[str]:
    """A line for each target that no finding answers."""
    if target is None:
        return []
    answered = {rule.key for name, rule in RULES.items() if any(_is(name, found) for found in findings)}
    answered |= {"pattern"} & findings.keys() | {"level"}
    stated = [key for key in type(target).model_fields if getattr(target, key) is not None]
    return [
        f"target.{key}: cannot be judged, its measure is not given here{WORN if key in OF_GLASSES else ''}"
        for key in stated
        if key not in answered
    ]


def _is(rule: str, name: str) -> bool:
    return name == rule or (name.split(".")[0] == rule and name not in RULES)


def _pattern(finding: Finding, wanted: tuple[str, ...]) -> Verdict:
    words = " or ".join(wanted)
    if finding.value in wanted:
        soft = (finding.parts or {}).get("by") == "angle"
        return Verdict("warn" if soft else "pass", words, "by angle only" if soft else "")
    return Verdict("fail", words, f"it is {finding.value}: {finding.why}", math.nan)


def _band(rule: Rule, wanted: Any) -> Wanted:
    low, high, one = -math.inf, math.inf, False
    if rule.kind == "least":
        low, words = wanted, f"at least {wanted:g} {rule.unit}"
    elif rule.kind == "most":
        high, words = wanted, f"at most {wanted:g} {rule.unit}"
    elif rule.kind == "ratio":
        one = wanted[0] == wanted[1]
        words = f"{wanted[0]:g}:1{GIVE}" if one else f"{wanted[0]:g}:1 to {wanted[1]:g}:1"
        slack = ONE_RATIO if one else 0.0
        low, high = math.log2(wanted[0]) - slack, math.log2(wanted[1]) + slack
    else:
        (low, high), words = wanted, f"{wanted[0]:g} to {wanted[1]:g} {rule.unit}"
    return Wanted(low, high, rule.margin, rule.unit, words.strip(), rule.kind == "ratio", one)
