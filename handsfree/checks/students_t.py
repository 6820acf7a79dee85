"""Student's t for any number of degrees of freedom, which ``statistics`` does not have.

Substituting t by the root of the degrees of freedom times a tangent makes its density a power
of a cosine, so that the distribution is a short, smooth integral (Simpson's rule).
"""

from __future__ import annotations

import functools
import math
from statistics import NormalDist

# Degrees of freedom above which a few terms of the expansion about the normal are accurate.
_NEARLY_NORMAL = 200.0
_PANELS = 32
_NORMAL = NormalDist()


def t_cdf(t: float, freedom: float) -> float:
    """Cumulative probability up to ``t``, for ``freedom`` from 1 to infinity."""
    if freedom > _NEARLY_NORMAL:
        # Abramowitz and Stegun 26.7.8.
        return _NORMAL.cdf(t * (1 - 1 / (4 * freedom)) / math.sqrt(1 + t**2 / (2 * freedom)))
    angle = math.atan(abs(t) / math.sqrt(freedom))
    step = angle / _PANELS
    heights = [math.cos(nth * step) ** (freedom - 1) for nth in range(_PANELS + 1)]
    area = heights[0] + heights[-1] + 4 * sum(heights[1:-1:2]) + 2 * sum(heights[2:-1:2])
    half = _scale(freedom) * area * step / 3
    return 0.5 + math.copysign(half, t)


@functools.lru_cache(maxsize=256)
def t_quantile(share: float, freedom: float) -> float:
    """The value below which ``share`` (0.5 to 1) of the distribution lies.

    Newton's method, starting from the first terms of the expansion about the normal quantile
    (Abramowitz and Stegun 26.7.5). That start is never above the result, and from below the
    steps only rise, because the distribution is concave there.
    """
    z = _NORMAL.inv_cdf(share)
    value = z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
    if freedom > _NEARLY_NORMAL:
        return value
    step = value
    # Newton converges quadratically: after a step of 1/300 the error is about 1/90,000.
    while step > value / 300:
        density = _scale(freedom) / math.sqrt(freedom)
        density *= (1 + value**2 / freedom) ** (-(freedom + 1) / 2)
        step = (share - t_cdf(value, freedom)) / density
        value += step
    return value


def _scale(freedom: float) -> float:
    return math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(math.pi)
