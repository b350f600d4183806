"""The sitter against the background, from the picture: separation along the outline, levels, edge light."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.film.layers import Layers
from renderer.meter.face.finding import Finding
from renderer.units import stops

STRIP = 0.010  # m to either side of the outline
APART = 0.5  # stop from which the eye parts two tones
LEAST_PIXELS = 4  # in a strip: fewer and the picture is too coarse to tell
EDGE_SHARE = 0.5  # of a pixel's light, from which it belongs to the lit edge
BOX = 0.020  # m of outline that is taken as one independent sample
PATCH = 0.050  # m to either side, over which the background is evened out: less than that is grain
FINE = 8  # blocks of pixels in that: to even them out in blocks costs a tenth
# Stops that a background scatters by from seed to seed beside its pixels' samples, as its walls were metered
# beforehand: 0.002 to 0.013 on four scenes.
METERED = 0.01


@dataclass(frozen=True)
class Frame:
    """Where the head lies in the picture, as parts of its height, and the size of a pixel at the head [m]
    for a picture of `width` pixels."""

    metre_per_pixel: float
    width: int
    chin: float
    cheek: float


def outline_findings(
    layers: Layers, frame: Frame, cheek: float, edges: list[int], cheek_error: float = 0.0
) -> dict[str, Finding]:
    """All that the picture tells; empty where it is too coarse or shows no sitter.

    cheek, cheek_error  luminance of the key-side cheek [cd/m2] and its standard error
    edges               numbers of the lights that make an edge
    """
    sitter, light = layers.sitter(), luminance(layers.picture().astype(float))
    pixel = frame.metre_per_pixel * frame.width / sitter.shape[1]
    reach = round(STRIP / pixel)
    behind = ~sitter & ~layers.emitting()
    if reach < LEAST_PIXELS or not sitter.any() or not behind.any():
        return {}
    apart = np.zeros_like(light)
    if layers.difference is not None:
        apart = luminance(layers.half_difference().astype(float))
    found = _levels(light, apart, behind, round(PATCH / pixel), cheek, cheek_error)
    outline = outline_of(sitter)
    inside, outside = near_mean(light, sitter, reach), near_mean(light, behind, reach)
    with np.errstate(divide="ignore", invalid="ignore"):
        step = np.abs(np.log2(inside / outside))[outline]
    step = step[~np.isnan(step)]
    if len(step):
        share = float((step >= APART).mean())
        samples = max(1.0, len(step) * pixel / BOX)
        found["separation"] = Finding(
            100.0 * share,
            100.0 * math.sqrt(max(share * (1.0 - share), 0.25 / samples) / samples),
            "%",
            f"part of the outline where sitter and background are {APART:g} stop or more apart, 10 mm strips",
        )
    if edges:
        found |= _rim(layers, light, sitter, reach, pixel, frame, cheek, edges)
    return found


def _levels(
    light: np.ndarray, apart: np.ndarray, behind: np.ndarray, reach: int, cheek: float, cheek_error: float
) -> dict[str, Finding]:
    """apart  half of what two independent pictures differ by, of which `light` is the mean"""
    mean = float(light[behind].mean())
    relative = 0.0
    if cheek > 0.0 and mean > 0.0:
        relative = math.hypot(cheek_error / cheek, apart[behind].mean() / mean)
    found = {
        "background": Finding(
            stops(mean, cheek) if cheek > 0.0 else math.nan,
            math.hypot(METERED, relative / math.log(2.0)),
            "stops",
            "mean luminance of the background in the frame, re the key-side cheek; a lamp in view left out",
        )
    }
    step = max(1, reach // FINE)
    here = _blocks(behind.astype(float), step)
    near, seen = _box(here, reach // step), here > 0.0
    evened, half = (
        _box(_blocks(np.where(behind, it, 0.0), step), reach // step)[seen] / near[seen]
        for it in (light, apart)
    )
    (low, high), one, two = (np.percentile(it, [5, 95]) for it in (evened, evened + half, evened - half))
    if low > 0.0:
        span = stops(float(high), float(low))
        differ = [abs(stops(float(it[1]), float(it[0])) - span) for it in (one, two) if it[0] > 0.0]
        found["background_evenness"] = Finding(
            span,
            math.hypot(METERED, *differ),
            "stops",
            "brightest over darkest twentieth of the background (95th over 5th percentile, over 10 cm)",
        )
    return found


def _rim(
    layers: Layers,
    light: np.ndarray,
    sitter: np.ndarray,
    reach: int,
    pixel: float,
    frame: Frame,
    cheek: float,
    edges: list[int],
) -> dict[str, Finding]:
    weights = layers.mix.weights()
    edge = sum(luminance(layers.radiance[i].astype(float) * weights[i]) for i in edges)
    rows = np.arange(sitter.shape[0])[:, None]
    strip = sitter & (near_mean(1.0 - sitter, np.ones_like(sitter), reach) > 0.0)
    strip &= rows < frame.chin * sitter.shape[0]
    rim = strip & (np.asarray(edge) > EDGE_SHARE * light)
    if not rim.any() or cheek <= 0.0:
        return {}
    values = light[rim]
    error = float(
        values.std() / values.mean() / math.sqrt(max(1.0, rim.sum() * pixel / STRIP / reach)) * 1.44
    )
    found = {
        "rim": Finding(
            stops(float(values.mean()), cheek),
            error,
            "stops",
            "luminance of the lit edge of head and hair (where most light is the edge light's), re the"
            " key-side cheek",
            parts={"outline_percent": round(100.0 * float(rim.sum() / strip.sum()), 1)},
        )
    }
    row = int(frame.cheek * sitter.shape[0])
    half = max(1, round(0.005 / pixel))
    lit = sitter & (np.asarray(edge) > EDGE_SHARE * light)
    widths = [
        run for line in range(row - half, row + half + 1) if (run := _edge_run(sitter[line], lit[line]))
    ]
    if widths:
        found["rim_width"] = Finding(
            1000.0 * pixel * float(np.mean(widths)),
            1000.0 * pixel * float(np.std(widths) / math.sqrt(len(widths)) + 0.5),
            "mm",
            "width of the lit edge at the height of the cheekbone, in the picture",
        )
    return found


def _edge_run(sitter: np.ndarray, lit: np.ndarray) -> int:
    """Longest unbroken run of lit pixels that starts at either outline of a row."""
    columns = np.flatnonzero(sitter)
    if len(columns) == 0:
        return 0
    first, last = columns[0], columns[-1]
    right = lit[first : last + 1]
    runs = []
    for line in (right, right[::-1]):
        dark = np.flatnonzero(~line)
        runs.append(int(dark[0]) if len(dark) else len(line))
    return max(runs)


def outline_of(mask: np.ndarray) -> np.ndarray:
    """Pixels of the mask with a neighbour outside it; the border of the picture is no outline."""
    wide = np.pad(mask, 1, mode="edge")
    inner = wide[:-2, 1:-1] & wide[2:, 1:-1] & wide[1:-1, :-2] & wide[1:-1, 2:]
    return np.asarray(mask & ~inner)


def near_mean(values: np.ndarray, where: np.ndarray, reach: int) -> np.ndarray:
    """Mean over the pixels of `where` in the square of +-reach about each pixel; nan where there are none."""
    total, count = _box(np.where(where, values, 0.0), reach), _box(where.astype(float), reach)
    return np.asarray(np.divide(total, count, out=np.full(count.shape, np.nan), where=count > 0.5))


def _blocks(values: np.ndarray, side: int) -> np.ndarray:
    """Sums over square blocks of pixels."""
    rows, columns = (np.arange(0, count, side) for count in values.shape)
    return np.asarray(np.add.reduceat(np.add.reduceat(values, rows, axis=0), columns, axis=1))


def _box(values: np.ndarray, reach: int) -> np.ndarray:
    """Sums over the square of +-reach about each pixel."""
    side = 2 * reach + 1
    wide = np.pad(values, reach)
    sums = np.pad(wide.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    rows, columns = values.shape
    return np.asarray(
        sums[side : side + rows, side : side + columns]
        - sums[:rows, side : side + columns]
        - sums[side : side + rows, :columns]
        + sums[:rows, :columns]
    )
