"""Fits runs at known controller settings to find the setting that meets a limit.

The speed of a movement is close to linear in a speed setting (common practice), so a
straight line is fitted to 1/T against the setting. Each point weighs with the inverse
square of its own standard uncertainty, u(1/T) = u(T)/T² (weighted least squares with known
uncertainties, GUM H.3).
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from statistics import NormalDist
from typing import Annotated, Literal

from pydantic import Field

from handsfree.checks.measurement_uncertainty import Uncertainty
from handsfree.checks.number_format import figure
from handsfree.errors import BadValue
from handsfree.job.record import Record

Direction = Literal["higher is faster", "higher is slower"]
_SURE = 1.96


class Scale(Record):
    """The scale of a controller setting: from ``low`` to ``high`` by ``step``."""

    low: Decimal
    high: Decimal
    step: Annotated[Decimal, Field(gt=0)]
    direction: Direction = "higher is faster"


def parse_scale(text: str, direction: Direction) -> Scale:
    """Reads '1:9' or '0:10:0.5': the lowest and highest setting and the step. Raises BadValue."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)(?::(\d+(?:\.\d+)?))?", text)
    if match is None:
        raise BadValue(f"'{text}' is not a scale", way_out="write a scale such as 1:9 or 0:10:0.5")
    low, high, step = (Decimal(one) for one in (match[1], match[2], match[3] or "1"))
    if not (low < high and 0 < step <= high - low):
        raise BadValue(
            f"'{text}' has no room for a step between its ends",
            way_out="give the lowest setting, the highest and a step: 1:9:1",
        )
    return Scale(low=low, high=high, step=step, direction=direction)


class Tried(Record):
    """The runs of one movement at one setting (s)."""

    setting: Decimal
    time: Uncertainty


class Fit(Record):
    """A fitted line: 1/T = ``at_zero`` + ``slope`` · setting, in 1/s.

    ``r_squared`` is the weighted share of the variation that the line explains, and
    ``residual_s`` by how much the worst point misses it; both are None for two settings,
    which any line meets. ``middle``, ``weight`` and ``spread`` are the weighted mean of
    the settings, the sum of the weights, and their squared deviations from that mean.
    """

    at_zero: float
    slope: float
    middle: float
    weight: float
    spread: float
    tried: tuple[Decimal, ...]
    r_squared: float | None = None
    residual_s: float | None = None

    def time_s(self, setting: Decimal) -> float:
        """The time expected at a setting (s); infinite where the line predicts no speed."""
        speed = self.at_zero + self.slope * float(setting)
        return 1 / speed if speed > 0 else math.inf

    def standard_s(self, setting: Decimal) -> float:
        """The standard uncertainty of ``time_s``; it grows away from what was tried."""
        away = float(setting) - self.middle
        return self.time_s(setting) ** 2 * math.sqrt(1 / self.weight + away**2 / self.spread)

    def keeps(self, setting: Decimal, least_s: float) -> float:
        """The probability that the time at a setting is at least this long, if the line holds."""
        away = float(setting) - self.middle
        standard = math.sqrt(1 / self.weight + away**2 / self.spread)
        speed = self.at_zero + self.slope * float(setting)
        return NormalDist().cdf((1 / least_s - speed) / standard)

    @property
    def quality(self) -> str:
        """Says in words how well the line fits."""
        if self.r_squared is None or self.residual_s is None:
            return "two settings only, so there is no telling how straight the line is"
        return (
            f"the line explains {100 * self.r_squared:.0f} percent and misses the worst of "
            f"{len(self.tried)} settings by {self.residual_s:.2f} seconds"
        )


class NoFit(Record):
    """The reason why no setting can be advised, ending in what to do."""

    why: str


class Advised(Record):
    """The setting that meets ``aim_s``, and the time and doubt to expect there.

    ``setting`` is None if no setting can be advised: every setting of the scale is too fast, or the
    line reaches zero speed before the next step; ``words`` says which and what to do.
    ``beyond_steps`` is how many steps the setting lies outside those tried, ``right`` the share (0
    to 1) of such settings that keep the limit if the line holds.
    """

    aim_s: Decimal
    setting: Decimal | None
    expected_s: float | None = None
    standard_s: float | None = None
    beyond_steps: Decimal = Decimal(0)
    right: float | None = None
    words: str


def fit_setting(tried: tuple[Tried, ...], direction: Direction = "higher is faster") -> Fit | NoFit:
    """Fits a line to the runs of one movement of one leaf at two or more settings."""
    settings = sorted({one.setting for one in tried})
    if len(settings) < 2:
        at = f"all runs were at setting {figure(settings[0])}" if settings else "nothing was tried"
        return NoFit(why=f"{at}, so change it by one step and measure again")
    points = [_point(one) for one in tried]
    weight = sum(w for _, _, w in points)
    middle = sum(w * x for x, _, w in points) / weight
    mean = sum(w * y for _, y, w in points) / weight
    spread = sum(w * (x - middle) ** 2 for x, _, w in points)
    slope = sum(w * (x - middle) * (y - mean) for x, y, w in points) / spread
    if (slope > 0) is not (direction == "higher is faster"):
        faster = "faster" if direction == "higher is faster" else "slower"
        return NoFit(
            why=f"a higher setting should be {faster} and was not, so something else changed: "
            "check which setting this is, and measure again"
        )
    if abs(slope) * math.sqrt(spread) < _SURE:
        return NoFit(
            why="the settings tried differ by less than the doubt of their times, "
            "so try settings further apart, or more runs"
        )
    line = Fit(
        at_zero=mean - slope * middle,
        slope=slope,
        middle=middle,
        weight=weight,
        spread=spread,
        tried=tuple(settings),
    )
    if len(settings) == 2:
        return line
    missed = sum(w * (y - line.at_zero - slope * x) ** 2 for x, y, w in points)
    total = sum(w * (y - mean) ** 2 for _, y, w in points)
    worst = max(abs(float(one.time.mean) - line.time_s(one.setting)) for one in tried)
    return line.model_copy(update={"r_squared": 1 - missed / total, "residual_s": worst})


def advise_setting(
    fit: Fit,
    aim_s: Decimal,
    scale: Scale,
    *,
    least_s: Decimal | None = None,
    slower_than: Decimal | None = None,
) -> Advised:
    """The fastest setting of the scale that is expected to take at least ``aim_s``.

    ``aim_s`` is the limit and its guard band (``advice.target``), ``least_s`` the limit alone.
    Rounding is to the slow side. The advice never leaves the scale: if even its slowest setting is
    too fast, there is none. If the last setting tried, ``slower_than``, does not pass, the result
    is at least a step slower, whatever the line says.
    """
    exact = Decimal(repr((1 / float(aim_s) - fit.at_zero) / fit.slope))
    faster_up = fit.slope > 0
    slow_side = ROUND_FLOOR if faster_up else ROUND_CEILING
    steps = ((exact - scale.low) / scale.step).to_integral_value(slow_side)
    setting = scale.low + steps * scale.step
    setting = min(setting, scale.high) if faster_up else max(setting, scale.low)
    if slower_than is not None and faster_up:
        setting = min(setting, slower_than - scale.step)
    elif slower_than is not None:
        setting = max(setting, slower_than + scale.step)
    if not scale.low <= setting <= scale.high:
        slowest = scale.low if faster_up else scale.high
        words = (
            f"even setting {figure(slowest)}, the slowest there is, should take "
            f"{_expected(fit, slowest)}, and {figure(by_hand(aim_s))} are needed; {fit.quality}"
        )
        return Advised(aim_s=aim_s, setting=None, words=words)
    if math.isinf(fit.time_s(setting)):
        words = (
            f"by the line the leaf would stand still at setting {figure(setting)}, "
            f"so go there one step at a time and measure at each; {fit.quality}"
        )
        return Advised(aim_s=aim_s, setting=None, words=words)
    beyond = abs(setting - min(max(setting, fit.tried[0]), fit.tried[-1])) / scale.step
    right = fit.keeps(setting, float(least_s if least_s is not None else aim_s))
    words = (
        f"setting {figure(setting)} should take {_expected(fit, setting)}, and keeps the limit "
        f"{_often(right)} if the line holds; {fit.quality}"
    )
    if beyond > 1:
        words += (
            f"; it is {figure(beyond)} steps beyond the {figure(fit.tried[0])} to "
            f"{figure(fit.tried[-1])} that was tried, so go there one step at a time "
            "and measure at each"
        )
    return Advised(
        aim_s=aim_s,
        setting=setting,
        expected_s=fit.time_s(setting),
        standard_s=fit.standard_s(setting),
        beyond_steps=beyond,
        right=right,
        words=words,
    )


def by_hand(aim_s: Decimal) -> Decimal:
    """The time rounded up to the next half second, which can be set by hand."""
    return (2 * aim_s).to_integral_value(ROUND_CEILING) / 2


def _often(share: float) -> str:
    """A share in words, rounded down: '95 times in 100'."""
    return f"{min(99, math.floor(100 * share))} times in 100"


def _expected(fit: Fit, setting: Decimal) -> str:
    return f"{fit.time_s(setting):.1f} seconds, give or take {_SURE * fit.standard_s(setting):.1f}"


def _point(one: Tried) -> tuple[float, float, float]:
    """A point of the fit: setting, speed in 1/s, and the weight of the speed."""
    time_s = float(one.time.mean)
    return float(one.setting), 1 / time_s, (time_s**2 / one.time.standard) ** 2
