"""The part of numpy needed to measure a leaf, in plain Python.

No numpy is published for the WebAssembly build of Python that runs on a phone. A visit's log there
is small: a few thousand samples. ``provide`` installs this module as numpy if numpy is missing, so
that the same code measures; the tests compare both. Names, axes and results match numpy's for real
numbers and up to three dimensions.
"""

from __future__ import annotations

import builtins
import math
import operator
import sys
from bisect import bisect_left
from collections.abc import Callable, Iterable
from importlib.util import find_spec
from itertools import accumulate, pairwise
from statistics import median as _median
from types import ModuleType, SimpleNamespace
from typing import Any

from handsfree.motion.plain_arrays import Array, along, dot, each, flat, mean_of, plain, zipped

float64 = int8 = None
bool_ = bool


def provide() -> None:
    """Installs this module under the name numpy if numpy is missing."""
    if "numpy" in sys.modules or find_spec("numpy") is not None:
        return
    typing = ModuleType("numpy.typing")
    vars(typing)["NDArray"] = dict  # used only in type annotations
    sys.modules["numpy"], sys.modules["numpy.typing"] = sys.modules[__name__], typing


# --- the functions of numpy


def array(values: Iterable[Any]) -> Array:
    """An array of values or of rows."""
    return Array([plain(value) for value in values])


def zeros(count: int, dtype: object = None) -> Array:
    """Zeros, or False."""
    return full(count, dtype is not bool and 0.0)


def full(count: int, value: Any) -> Array:
    """One value, ``count`` times."""
    return Array([value] * count)


def arange(count: int, dtype: object = None) -> Array:
    """The whole numbers from 0 up to, not including, ``count``."""
    return Array(list(range(count)))


def linspace(begin: float, end: float, count: int) -> Array:
    """``count`` evenly spaced numbers."""
    return Array([begin + (end - begin) * nth / (count - 1) for nth in range(count)])


def concatenate(parts: Iterable[Any]) -> Array:
    """The arrays joined end to end."""
    return Array([value for part in parts for value in plain(part)])


def column_stack(columns: Iterable[Array]) -> Array:
    """Arrays as the columns of a table."""
    return array(columns).T


def sqrt(values: Any) -> Any:
    """Square roots."""
    return each(math.sqrt, values)


def abs(values: Any) -> Any:
    """Absolute values."""
    return each(builtins.abs, values)


def degrees(values: Any) -> Any:
    """Radians as degrees."""
    return each(math.degrees, values)


def radians(values: Any) -> Any:
    """Degrees as radians."""
    return each(math.radians, values)


def isfinite(values: Any) -> Any:
    """True for each value that is a finite number."""
    return each(math.isfinite, values)


def sum(values: Any) -> Any:
    """The sum of all values."""
    return math.fsum(flat(plain(values)))


def mean(values: Any) -> float:
    """The mean of all values."""
    return mean_of(list(flat(plain(values))))


def median(values: Array, axis: int | None = None) -> Any:
    """The median."""
    return along(_median, values, axis)


def percentile(values: Array, share: float) -> float:
    """The value below which ``share`` percent lie, interpolated between neighbors."""
    ordered = sorted(flat(values.data))
    at = share / 100 * (len(ordered) - 1)
    below = min(int(at), len(ordered) - 2) if len(ordered) > 1 else 0
    step = ordered[below + 1] - ordered[below] if len(ordered) > 1 else 0.0
    return float(ordered[below] + step * (at - below))


def argmax(values: Array) -> int:
    """The index of the first of the largest values."""
    return values.argmax()


def argmin(values: Array) -> int:
    """The index of the first of the smallest values."""
    return values.data.index(builtins.min(values.data))


def diff(values: Any) -> Array:
    """Differences between neighbors."""
    return Array([other - one for one, other in pairwise(plain(values))])


def cumsum(values: Array, axis: int = 0) -> Array:
    """The running sum, for each column if there are several."""
    return Array(list(accumulate(values.data, lambda one, other: zipped(operator.add, one, other))))


def flatnonzero(values: Array) -> Array:
    """The indexes of the nonzero values."""
    return Array([nth for nth, value in enumerate(values.data) if value])


def count_nonzero(values: Array) -> int:
    """The number of nonzero values."""
    return len(flatnonzero(values))


def where(wanted: Array, values: Array, other: float) -> Array:
    """The values where ``wanted`` is true, ``other`` elsewhere."""
    pairs = zip(wanted.data, values.data, strict=True)
    return Array([value if take else other for take, value in pairs])


def outer(one: Array, other: Array) -> Array:
    """The product of each value of one with each of the other."""
    return Array([[a * b for b in other.data] for a in one.data])


def gradient(values: Array) -> Array:
    """Slopes from the neighbors on both sides."""
    v = values.data
    inside = [(v[nth + 1] - v[nth - 1]) / 2 for nth in range(1, len(v) - 1)]
    return Array([v[1] - v[0], *inside, v[-1] - v[-2]])


def searchsorted(values: Array, value: float) -> int:
    """The index at which inserting a value keeps the order."""
    return bisect_left(values.data, value)


def interp(at: Any, xs: Any, ys: Any) -> Any:
    """Linear interpolation between points; beyond the ends, the values at the ends."""
    x, y = plain(xs), plain(ys)

    def one(value: float) -> float:
        if value <= x[0]:
            return float(y[0])
        if value >= x[-1]:
            return float(y[-1])
        nth = bisect_left(x, value)
        share = (value - x[nth - 1]) / (x[nth] - x[nth - 1])
        return float(y[nth - 1] + share * (y[nth] - y[nth - 1]))

    return each(one, at)


def bartlett(count: int) -> Array:
    """A triangular window."""
    half = (count - 1) / 2
    return Array([1 - builtins.abs(nth - half) / half for nth in range(count)])


def convolve(values: Array, kernel: Array, mode: str) -> Array:
    """Sums weighted by a window, only where the window fits completely."""
    weights, v = kernel.data[::-1], values.data
    count = len(weights)
    return Array([dot(v[at : at + count], weights) for at in range(len(v) - count + 1)])


def ptp(values: Array, axis: int) -> Array:
    """The largest minus the smallest value of each row."""
    return Array([max(row) - min(row) for row in values.data])


def loadtxt(
    text: Iterable[str], delimiter: str, usecols: list[int], ndmin: int, comments: None
) -> Array:
    """The columns of a table. Raises ValueError for a cell that is missing or not a number."""
    rows = []
    for line in text:
        cells = line.split(delimiter)
        if len(cells) <= builtins.max(usecols):
            raise ValueError(f"too few columns: {line!r}")
        rows.append([float(cells[nth]) for nth in usecols])
    return Array(rows)


class _Pairwise:
    """The larger or smaller of two values; ``accumulate`` gives the running one."""

    def __init__(self, act: Callable[[Any, Any], Any]) -> None:
        self._act = act

    def __call__(self, one: Any, other: Any) -> Array:
        return Array(zipped(self._act, plain(one), plain(other)))

    def accumulate(self, values: Array) -> Array:
        """The largest or smallest value so far."""
        return Array(list(accumulate(values.data, self._act)))


maximum, minimum = _Pairwise(max), _Pairwise(min)


def _norm(values: Array, axis: int | None = None) -> Any:
    return along(lambda part: math.hypot(*part), values, axis)


def _eigh(matrix: Array) -> tuple[Array, Array]:
    """Eigenvalues in rising order and eigenvectors as columns (Jacobi's rotations)."""
    a = [list(row) for row in matrix.data]
    size = len(a)
    v = [[float(row == column) for column in range(size)] for row in range(size)]
    for _ in range(50):
        pairs = [(p, q) for p in range(size) for q in range(p + 1, size)]
        p, q = builtins.max(pairs, key=lambda pair: builtins.abs(a[pair[0]][pair[1]]))
        if builtins.abs(a[p][q]) <= 1e-18 * math.hypot(*(a[nth][nth] for nth in range(size))):
            break
        turn = math.atan2(2 * a[p][q], a[q][q] - a[p][p]) / 2
        cos, sin = math.cos(turn), math.sin(turn)
        for row in (*a, *v):
            row[p], row[q] = cos * row[p] - sin * row[q], sin * row[p] + cos * row[q]
        a[p], a[q] = (
            [cos * x - sin * y for x, y in zip(a[p], a[q], strict=True)],
            [sin * x + cos * y for x, y in zip(a[p], a[q], strict=True)],
        )
    order = sorted(range(size), key=lambda nth: a[nth][nth])
    vectors = [[row[nth] for nth in order] for row in v]
    return Array([a[nth][nth] for nth in order]), Array(vectors)


def _windows(values: Array, width: int) -> Array:
    v = values.data
    return Array([v[at : at + width] for at in range(len(v) - width + 1)])


linalg = SimpleNamespace(norm=_norm, eigh=_eigh)
lib = SimpleNamespace(stride_tricks=SimpleNamespace(sliding_window_view=_windows))
