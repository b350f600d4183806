"""Least squares for what is off: readings as a function of amounts, the estimate, and what it is worth.

source  linear model with normal priors: A. Tarantola, Inverse Problem Theory, SIAM 2005, section 3.2 (from
        memory): posterior covariance (J^T W J + P)^-1, and the least sum of squares, those of the amounts in
        it, is chi-square with as many degrees of freedom as there are readings
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

NOTHING = -1e3  # base 2 logarithm of no light at all
EVERY = -1  # number of the light where all are on


@dataclass(frozen=True)
class Data:
    """The readings. mark, light: (n,) numbers, EVERY for all together; read: (n,) base 2 logarithm of the
    level; sigma: (n,) standard deviation of it [stops]"""

    mark: np.ndarray
    light: np.ndarray
    read: np.ndarray
    sigma: np.ndarray

    def without(self, i: int) -> Data:
        """But for one."""
        keep = np.arange(len(self.read)) != i
        return Data(self.mark[keep], self.light[keep], self.read[keep], self.sigma[keep])


@dataclass(frozen=True)
class Response:
    """How the layers at the marks go with the amounts: straight in stops about `origin`, summed as light.

    layers  (marks, lights) base 2 logarithm of each light's level at `origin`
    slopes  (amounts, marks, lights) stops per unit of each amount
    meter   (amounts,) stops that every reading goes by with each amount
    origin  (amounts,)
    """

    layers: np.ndarray
    slopes: np.ndarray
    meter: np.ndarray
    origin: np.ndarray

    def predicted(self, x: np.ndarray, data: Data) -> np.ndarray:
        """(n,) what the meter would read, base 2 logarithm."""
        layers = self._layers(x)
        total = np.logaddexp2.reduce(layers, axis=1)
        alone = layers[data.mark, np.maximum(data.light, 0)]
        sums = np.where(data.light == EVERY, total[data.mark], alone)
        return np.asarray(sums + float(self.meter @ x))

    def jacobian(self, x: np.ndarray, data: Data) -> np.ndarray:
        """(n, amounts) its derivatives; of a sum those of its parts, weighed by their shares."""
        layers = self._layers(x)
        total = np.logaddexp2.reduce(layers, axis=1, keepdims=True)
        share = np.exp2(layers - total)
        of_sum = np.einsum("kml,ml->km", self.slopes, share)[:, data.mark]
        alone = self.slopes[:, data.mark, np.maximum(data.light, 0)]
        return np.asarray((np.where(data.light == EVERY, of_sum, alone) + self.meter[:, None]).T)

    def _layers(self, x: np.ndarray) -> np.ndarray:
        moved = np.tensordot(x - self.origin, self.slopes, axes=1)
        return np.asarray(np.where(self.layers <= NOTHING, NOTHING, self.layers + moved))


@dataclass(frozen=True)
class Estimate:
    """x: (amounts,); covariance: (amounts, amounts); left: (n,) read less predicted, in sigmas; chi_square:
    with those of the amounts, of n degrees of freedom; before: that of the readings alone at nought"""

    x: np.ndarray
    covariance: np.ndarray
    left: np.ndarray
    chi_square: float
    before: float

    @property
    def error(self) -> np.ndarray:
        """(amounts,) one standard deviation."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def correlation(self) -> np.ndarray:
        """(amounts, amounts), -1 to 1."""
        return np.asarray(self.covariance / np.outer(self.error, self.error))

    @property
    def degrees(self) -> int:
        return len(self.left)

    @property
    def probability(self) -> float:
        """Of a sum of squares as large as this or larger, by chance."""
        from scipy.stats import chi2

        return float(chi2.sf(self.chi_square, self.degrees))


def estimated(response: Response, data: Data, usual: np.ndarray, start: np.ndarray | None = None) -> Estimate:
    """The amounts that bring readings and usual errors together with the least sum of squares.

    usual  (amounts,) standard deviation of each amount before anything was read; its mean is nought
    """
    from scipy.optimize import least_squares

    if not len(usual):
        left = (data.read - response.predicted(usual, data)) / data.sigma
        return Estimate(usual, np.zeros((0, 0)), left, float(left @ left), float(left @ left))

    def gap(x: np.ndarray) -> np.ndarray:
        return np.concatenate([(response.predicted(x, data) - data.read) / data.sigma, x / usual])

    def slope(x: np.ndarray) -> np.ndarray:
        return np.vstack([response.jacobian(x, data) / data.sigma[:, None], np.diag(1.0 / usual)])

    first = np.zeros(len(usual)) if start is None else start
    found = least_squares(gap, first, slope, method="trf", x_scale=usual, xtol=1e-10, ftol=1e-12)
    x = np.asarray(found.x)
    root = slope(x)
    n = len(data.read)
    nought = gap(np.zeros(len(usual)))[:n]
    return Estimate(
        x, np.linalg.inv(root.T @ root), -gap(x)[:n], 2.0 * float(found.cost), float(nought @ nought)
    )


def with_model_error(data: Data, error: np.ndarray) -> Data:
    """The readings' errors with that of the tracing, (n,) [stops]."""
    return replace(data, sigma=np.hypot(data.sigma, error))
