"""How two ways to sample the same light share it."""

from renderer.kernels.compiler import inlined


@inlined
def share_of(pdf, other):
    """What samples of density `pdf` count for, beside those of density `other`: the power heuristic.

    A lamp that is sampled evenly scatters little. By the balance heuristic, pdf / (pdf + other), a tenth of
    its light may be left to paths that meet it by chance, and scatter much; here it is a hundredth.
    source  Veach 1997 (see `renderer.kernels.path`), section 9.2.3, exponent 2
    """
    return pdf * pdf / (pdf * pdf + other * other)
