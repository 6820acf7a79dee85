"""Student's t for any number of degrees of freedom, which ``statistics`` does not have.

Substituting t by the root of the degrees of freedom times a tangent makes its density a power
of a cosine, so that the distribution is a short, smooth integral (Simpson's rule).
"""

from __future__ import annotations

import functools
import math
from statistics import NormalDist

# Beyond this many degrees of freedom t and the normal distribution agree in every digit shown.
_AS_NORMAL = 1000.0
_PANELS = 32
_NORMAL = NormalDist()


def t_cdf(t: float, freedom: float) -> float:
    """The probability of a value up to ``t``; ``freedom`` from 1 to infinity."""
    if freedom > _AS_NORMAL:
        return _NORMAL.cdf(t)
    angle = math.atan(abs(t) / math.sqrt(freedom))
    step = angle / _PANELS
    heights = [math.cos(nth * step) ** (freedom - 1) for nth in range(_PANELS + 1)]
    area = heights[0] + heights[-1] + 4 * sum(heights[1:-1:2]) + 2 * sum(heights[2:-1:2])
    half = _scale(freedom) * area * step / 3
    return 0.5 + math.copysign(half, t)


@functools.lru_cache(maxsize=256)
def t_quantile(share: float, freedom: float) -> float:
    """The value that ``share`` (0.5 to 1) of the distribution stays below.

    From the normal quantile, which is never above it, Newton's steps only rise: the
    distribution bends downwards there.
    """
    value = _NORMAL.inv_cdf(share)
    if freedom > _AS_NORMAL:
        return value
    step = 1.0
    while step > 1e-6 * value:
        density = _scale(freedom) / math.sqrt(freedom)
        density *= (1 + value**2 / freedom) ** (-(freedom + 1) / 2)
        step = (share - t_cdf(value, freedom)) / density
        value += step
    return value


def _scale(freedom: float) -> float:
    return math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(math.pi)
