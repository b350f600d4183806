"""What the readings say, and what to do about it: one line a thing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.scene.found import FOUND
from renderer.solve.readings.fewest import FITS
from renderer.solve.readings.match import Found, Match
from renderer.units import signed

ALIKE = 0.7
"""Correlation from which two assumptions are said not to be told apart."""
TOO_WELL = 0.995
BARELY = 0.001  # probability of a sum of squares as large, under which readings do not fit at all
EASE = {"place": 0, "meter": 1, "reflectance": 2, "output": 3}
"""Which of several is the easiest to measure on its own."""
HOW = {
    "place": "take a tape to the {}",
    "meter": "hold a second meter beside yours",
    "reflectance": "spot the surface and a grey card on it ({} = spot / spot of the card x 0.18)",
    "output": "read the lamp alone, 1 m before it ({})",
}
OTHER = "more of one reads as more of the other"
INSTEAD = 4  # things named in the place of another


@dataclass(frozen=True)
class Alike:
    """Assumptions that the readings take for each other; correlation: the largest of two of them."""

    several: tuple[Found, ...]
    correlation: float

    def words(self) -> str:
        names = [it.assumption.words for it in self.several]
        if len(names) == 2:
            way = "more of both reads the same" if self.correlation > 0.0 else OTHER
        else:
            way = "a change of one reads as a change of the others"
        easy = min(self.several, key=lambda it: EASE[it.assumption.kind]).assumption
        return (
            f"The readings hardly tell {', '.join(names[:-1])} and {names[-1]} apart: {way} (correlation up"
            f" to {signed(self.correlation, 2)}). To know, {HOW[easy.kind].format(easy.words)}."
        )


def alike(match: Match) -> list[Alike]:
    """Groups that hang together by correlations of at least `ALIKE`, the most alike first."""
    found, rho = match.found, match.estimate.correlation
    left, groups = set(range(len(found))), []
    while left:
        group, fresh = set(), {min(left)}
        while fresh:
            group |= fresh
            fresh = {j for i in fresh for j in left - group if abs(rho[i, j]) >= ALIKE}
        left -= group
        if len(group) > 1:
            inner = [(i, j) for i in group for j in group if i < j]
            worst = max((float(rho[i, j]) for i, j in inner), key=abs)
            groups.append(Alike(tuple(found[i] for i in sorted(group)), worst))
    return sorted(groups, key=lambda group: -abs(group.correlation))


def verdict(match: Match) -> list[str]:
    """Whether the assumptions and usual errors explain the readings; where not, what stands out."""
    it = match.estimate
    sums = f"chi-square {it.chi_square:.1f} for {it.degrees} readings"
    percent = 100.0 * it.probability
    chance = f"{f'{percent:.0f}' if percent >= 1.0 else 'under 1'} of 100 honest sets would lie further off"
    if it.probability >= FITS:
        lines = [f"The readings fit the scene with this put right: {sums}, {chance}."]
        if it.probability > TOO_WELL:
            lines.append("They fit better than the errors say: a smaller --meter-error would tell more.")
        return lines
    worst = int(np.argmax(np.abs(it.left)))
    given = match.readings[worst]
    side = "over" if it.left[worst] > 0.0 else "under"
    where = f"{given.on} at {given.mark}, {given.text} (line {given.line})"
    far = f"furthest off: {where}, {abs(it.left[worst]):.1f} of its errors {side}"
    how = "only just fit" if it.probability >= BARELY else "do NOT fit, whatever of this is put right"
    lines = [f"The readings {how}: {sums}, {chance}; {far}."]
    if match.stray is not None:
        stray = match.readings[match.stray]
        lines.append(
            f"Read again first: {stray.on} at {stray.mark} (line {stray.line}, {stray.text}); without this"
            " reading all others fit. Then match anew: the table above still has it in."
        )
    else:
        lines.append(
            "No single reading explains it: look for what is not in --free, or not in the scene at all."
        )
    return lines


def to_do(match: Match) -> list[str]:
    """The end of the page: what to rig, or what to believe."""
    worst = float(np.abs(match.data.read - match.expected).max())
    causes = match.fewest
    if causes:
        lines = ["The fewest things that explain the readings, all else as planned:"]
        for i, cause in enumerate(causes):
            lines.append(f"  {i + 1}. {_line(match, cause.found)}")
            if cause.instead:
                several = ", ".join(_short(it) for it in cause.instead[:INSTEAD])
                lines.append(f"     The readings allow instead: {several}.")
        names = ", ".join(cause.found.assumption.name for cause in causes)
        return [
            *lines,
            f"The matched scene has all of the table in it; --free '{names}' matches with these alone.",
        ]
    if causes is not None:
        if match.stray is not None:
            return ["All other readings are as planned: nothing else to do."]
        return [f"Nothing to do: all readings are as planned within their errors ({worst:.2f} stop at most)."]
    if match.fits or match.stray is not None:
        return ["No few things explain the readings, only many a little off: go by the matched scene."]
    off = sorted((it for it in match.found if it.off), key=lambda it: -abs(it.amount / it.error))
    if not off:
        return ["Nothing can be said to be off: see to the readings first."]
    return ["Off in this estimate, which does not fit yet:", *(f"  - {_line(match, it)}" for it in off)]


def _short(it: Found) -> str:
    kind, words = it.assumption.kind, it.assumption.words
    if kind == "reflectance":
        return f"{words} {it.after:.2f}"
    if kind == "place":
        return f"{words} {it.after:.2f} m"
    return f"{words} {signed(it.amount, 2)} stop"


def _line(match: Match, it: Found) -> str:
    kind, words = it.assumption.kind, it.assumption.words
    if kind == "meter":
        way, turn = ("high", "take off") if it.amount > 0.0 else ("low", "add")
        amount = f"{abs(it.amount):.2f} ±{it.error:.2f} stop"
        return f"The meter reads {amount} {way}: {turn} that from all it says, or set its own correction."
    if kind == "output":
        return _output(match, it)
    if kind == "place":
        return _place(it)
    was, now = f"{it.before:.2f}", f"{it.after:.2f} ±{max(it.spread, 0.01):.2f}"
    way = "lighter" if it.amount > 0.0 else "darker"
    text = f"{_capital(words)}: {now}, not {was}: {way} than the scene has it."
    return text + " Nothing to rig: balance the matched scene anew."


def _output(match: Match, it: Found) -> str:
    light, by = it.assumption.light or "", it.amount
    way = "more" if by > 0.0 else "less"
    text = f"{_capital(light)} gives {abs(by):.2f} ±{it.error:.2f} stop {way} than the scene says"
    scene = match.before.scene
    if light in scene.windows:
        return f"{text}: gel or blind it by that, or balance the matched scene anew."
    if light == FOUND and light not in scene.light:
        return f"{text}: put the reading of the room's own light right in the scene."
    dim = scene.light[light].dim
    wanted = dim * 2.0**-by
    if wanted <= 1.0:
        return f"{text}: set its dimmer to {100 * wanted:.0f} % instead of {100 * dim:.0f} %."
    if dim >= 1.0:
        return f"{text}, and is at full: bring it nearer, take diffusion off, or balance the rest to it."
    return (
        f"{text}, too much for its dimmer ({100 * dim:.0f} %): put it to full, then bring it nearer or take"
        " diffusion off."
    )


def _place(it: Found) -> str:
    light = _capital(it.assumption.light or "")
    cm, error = 100.0 * it.amount, max(100.0 * it.error, 1.0)
    if it.assumption.name.endswith(".height"):
        way, back = ("higher", "lower it") if cm > 0.0 else ("lower", "raise it")
        plan = f"{it.before:.2f} m over the floor, its centre"
    else:
        way, back = ("further away", "bring it nearer") if cm > 0.0 else ("nearer", "move it away")
        plan = f"{it.before:.2f} m from nose to centre"
    return f"{light} hangs {abs(cm):.0f} ±{error:.0f} cm {way} than planned: {back} to {plan}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
