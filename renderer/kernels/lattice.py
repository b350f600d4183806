"""A picture from light that is known at every second pixel; see `renderer.live.lattice`."""

from renderer.kernels.compiler import entry

CORNERS = 4


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
