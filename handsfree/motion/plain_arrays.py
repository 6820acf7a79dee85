"""Arrays in plain Python with the arithmetic and names of numpy, for ``plain_numpy``."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable, Iterator
from typing import Any


class Array:
    """Numbers or booleans in nested lists, with element-by-element arithmetic as in numpy."""

    def __init__(self, data: list[Any]) -> None:
        self.data = data

    def __len__(self) -> int:
        return len(self.data)

    def __iter__(self) -> Iterator[Any]:
        return map(wrapped, self.data)

    @property
    def shape(self) -> tuple[int, ...]:
        """Lengths of the axes."""
        found: list[int] = []
        part: Any = self.data
        while isinstance(part, list):
            found.append(len(part))
            part = part[0] if part else None
        return tuple(found)

    # --- parts

    def __getitem__(self, key: Any) -> Any:
        if isinstance(key, tuple):
            rows, column = key
            return Array([plain(Array(row)[column]) for row in self.data[rows]])
        if isinstance(key, Array):
            if key.data and isinstance(key.data[0], bool):
                picked = zip(self.data, key.data, strict=True)
                return Array([value for value, wanted in picked if wanted])
            return Array([self.data[nth] for nth in key.data])
        return wrapped(self.data[key])

    def __setitem__(self, key: Any, value: Any) -> None:
        if isinstance(key, slice) and not isinstance(value, Array):
            count = len(range(*key.indices(len(self.data))))
            self.data[key] = [value] * count
        else:
            self.data[key] = plain(value)

    @property
    def T(self) -> Array:  # noqa: N802
        """The transpose of two axes."""
        return Array([list(column) for column in zip(*self.data, strict=True)])

    def reshape(self, *shape: int) -> Array:
        """The same rows, regrouped: only the first of three axes is new."""
        _, count, _ = shape
        rows = self.data
        return Array([rows[at : at + count] for at in range(0, len(rows), count)])

    def copy(self) -> Array:
        """A copy that may be changed."""
        return Array(mapped(lambda value: value, self.data))

    def view(self, kind: object) -> Array:
        """Booleans as 0 and 1."""
        return Array(mapped(int, self.data))

    def astype(self, kind: type) -> Array:
        """Every value converted to another type."""
        return Array(mapped(kind, self.data))

    def tolist(self) -> list[Any]:
        """The nested lists."""
        return self.data

    # --- one value, or one for each row or column

    def sum(self, axis: int | None = None) -> Any:
        """The sum."""
        return along(math.fsum, self, axis)

    def mean(self, axis: int | None = None) -> Any:
        """The mean."""
        return along(mean_of, self, axis)

    def var(self, axis: int | None = None, ddof: int = 0) -> Any:
        """The variance, over n - ``ddof``."""

        def variance(values: list[float]) -> float:
            middle = mean_of(values)
            return math.fsum((value - middle) ** 2 for value in values) / (len(values) - ddof)

        return along(variance, self, axis)

    def max(self, axis: int | None = None) -> Any:
        """The largest value."""
        return along(max, self, axis)

    def min(self, axis: int | None = None) -> Any:
        """The smallest value."""
        return along(min, self, axis)

    def argmax(self) -> int:
        """The index of the first of the largest values."""
        return self.data.index(max(self.data))

    def any(self) -> bool:
        """True if a value is true."""
        return any(flat(self.data))

    def all(self) -> bool:
        """True if each value is true."""
        return all(flat(self.data))

    # --- arithmetic

    def __matmul__(self, other: Array) -> Any:
        if len(other.shape) == 1:
            return Array([dot(row, other.data) for row in self.data])
        columns = other.T.data
        return Array([[dot(row, column) for column in columns] for row in self.data])

    def __neg__(self) -> Array:
        return Array(mapped(operator.neg, self.data))

    def __invert__(self) -> Array:
        return Array(mapped(operator.not_, self.data))


def _operator(name: str, act: Callable[[Any, Any], Any]) -> None:
    setattr(Array, f"__{name}__", lambda one, other: Array(zipped(act, one.data, plain(other))))
    setattr(Array, f"__r{name}__", lambda one, other: Array(zipped(act, plain(other), one.data)))


for _name in ("add", "sub", "mul", "truediv", "pow"):
    _operator(_name, getattr(operator, _name))
for _name in ("and", "or"):
    _operator(_name, getattr(operator, f"{_name}_"))
for _name in ("lt", "le", "gt", "ge"):
    _operator(_name, getattr(operator, _name))


def plain(value: Any) -> Any:
    """Returns the nested lists of an array, and any other value as it is."""
    return value.data if isinstance(value, Array) else value


def wrapped(value: Any) -> Any:
    """Returns nested lists as an array, and any other value as it is."""
    return Array(value) if isinstance(value, list) else value


def flat(data: Iterable[Any]) -> Iterator[Any]:
    """Yields the values of nested lists in their order."""
    for value in data:
        if isinstance(value, list):
            yield from flat(value)
        else:
            yield value


def _depth(data: Any) -> int:
    return 1 + _depth(data[0]) if isinstance(data, list) and data else int(isinstance(data, list))


def zipped(act: Callable[[Any, Any], Any], one: Any, other: Any) -> Any:
    """Combines two arrays element by element; one with fewer axes is applied to each part of the
    other.
    """
    more = _depth(one) - _depth(other)
    if more > 0:
        return [zipped(act, value, other) for value in one]
    if more < 0:
        return [zipped(act, one, value) for value in other]
    if not isinstance(one, list):
        return act(one, other)
    if one and isinstance(one[0], list):
        return [zipped(act, a, b) for a, b in zip(one, other, strict=True)]
    return [act(a, b) for a, b in zip(one, other, strict=True)]


def mapped(act: Callable[[Any], Any], data: Any) -> Any:
    """Applies a function to every value of nested lists."""
    return [mapped(act, each) for each in data] if isinstance(data, list) else act(data)


def each(act: Callable[[Any], Any], value: Any) -> Any:
    """Applies a function to every value of an array, or to a single value."""
    return wrapped(mapped(act, plain(value)))


def along(act: Callable[[list[Any]], Any], array: Array, axis: int | None) -> Any:
    """Reduces all values, or those along an axis."""
    if axis is None:
        return act(list(flat(array.data)))
    if axis == 0:
        return Array([act(list(column)) for column in zip(*array.data, strict=True)])
    return Array([plain(along(act, Array(part), axis - 1)) if _depth(part) > 1 else act(part)
                  for part in array.data])  # fmt: skip


def dot(one: Iterable[float], other: Iterable[float]) -> float:
    """Returns the sum of the products of two rows."""
    return math.fsum(map(operator.mul, one, other))


def mean_of(values: list[float]) -> float:
    """Returns the mean."""
    return math.fsum(values) / len(values)
