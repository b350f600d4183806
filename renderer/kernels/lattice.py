"""Light at some pixels of a tally, and a picture from light at every second one; see `renderer.live`."""

from renderer.kernels.compiler import entry

CORNERS = 4


@entry
def take_over(whole, part, lights, to, by, first, last):
    """Put the light that `part` has at the pixels by[first] .. by[last - 1] into `whole`, at those of `to`.

    whole, part  Tally; lights (m,) int32: number in `whole` of each light of `part`
    Sums of `whole` stay sums of as many samples as it has.
    """
    for half in range(whole.samples.shape[0]):
        for place in range(first, last):
            here, there = to[place], by[place]
            share = whole.samples[half, here] / max(1, part.samples[half, there])
            for i in range(lights.shape[0]):
                for channel in range(3):
                    whole.irradiance[half, here, lights[i], channel] = (
                        share * part.irradiance[half, there, i, channel]
                    )
                    for kind in range(2):
                        whole.radiance[half, here, lights[i], kind, channel] = (
                            share * part.radiance[half, there, i, kind, channel]
                        )


@entry
def arriving_at(tally, weights, pixels, light, first, last):
    """Light of a mix arriving at the pixels first .. last - 1 of `pixels`, by independent halves.

    weights  (lights, 3) float32 of the mix
    light    (halves, n, 3) float32 lux as RGB
    """
    for half in range(light.shape[0]):
        for place in range(first, last):
            pixel = pixels[place]
            for channel in range(3):
                total = 0.0
                for i in range(weights.shape[0]):
                    total += weights[i, channel] * tally.irradiance[half, pixel, i, channel]
                light[half, place, channel] = total / tally.samples[half, pixel]


@entry
def sent_by(tally, weights, pixels, picture, first, last):
    """What the pixels first .. last - 1 of `pixels` send in a mix, into `picture`, (all, 3) float32."""
    halves = tally.samples.shape[0]
    for place in range(first, last):
        pixel = pixels[place]
        for channel in range(3):
            mean = 0.0
            for half in range(halves):
                total = 0.0
                for i in range(weights.shape[0]):
                    total += weights[i, channel] * (
                        tally.radiance[half, pixel, i, 0, channel]
                        + tally.radiance[half, pixel, i, 1, channel]
                    )
                mean += total / tally.samples[half, pixel]
            picture[pixel, channel] = mean / halves


@entry
def light_between(light, node, share, gain, picture, first, last):
    """Send back, at pixels first .. last - 1 of `picture`, the light of the nodes about each.

    light    (m, 3) float32 arriving at the nodes
    node     (n, CORNERS) int32, share (n, CORNERS) float32: nodes about a pixel, and how much each counts;
             a pixel whose first share is below 0 is left as it is
    gain     (n, 3) float32 of what arrives, what the pixel sends
    picture  (n, 3) float32
    """
    for pixel in range(first, last):
        if share[pixel, 0] < 0.0:
            continue
        for channel in range(3):
            arriving = share[pixel, 0] * light[node[pixel, 0], channel]
            for k in range(1, CORNERS):
                arriving += share[pixel, k] * light[node[pixel, k], channel]
            picture[pixel, channel] = gain[pixel, channel] * arriving
