"""Computes the share of doors exactly at their limit that pass, by today's rule and by the former
one.

    python -m tests.bench.false_passes

Each number comes from 40,000 doors, drawn by numpy's generator from a fixed seed; the observer
scatters by 0.10 s. 'After' is the program itself; 'before' is its former rule, which is repeated
here: 1.96 and Student's t with Welch and Satterthwaite's degrees of freedom, at full level at every
look.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from handsfree.checks.measurement_uncertainty import MOST_RUNS, TIMED_SD_S
from tests.checks.test_false_passes import share_at_once, share_looking_again, times

DOOR_SD_S = (0.0, 0.1, 0.2, 0.3)
ROWS = ("one run", "three runs", "five runs", "looking again, up to five runs")


def clears_before(of_run: np.ndarray) -> np.ndarray:
    """True for each door whose runs cleared the limit by the former rule."""
    runs = of_run.shape[1]
    spread = of_run.std(1, ddof=1) if runs > 1 else np.zeros(len(of_run))
    standard = np.maximum(spread, TIMED_SD_S) / np.sqrt(runs)
    of_door = (np.maximum(spread, TIMED_SD_S) ** 2 - TIMED_SD_S**2) / runs
    with np.errstate(divide="ignore", invalid="ignore"):
        freedom = np.where(of_door > 0, (runs - 1) * (standard**2 / of_door) ** 2, 1e9)
    band = stats.t.ppf(0.975, np.maximum(freedom, 1e-9)) * standard
    return np.asarray(of_run.mean(1) - 3.5 >= band)


def before(door_sd: float) -> list[float]:
    """Returns the shares of the former rule, in the order of ROWS."""
    of_run = times(door_sd, seed=22)
    at_once = [float(clears_before(of_run[:, :runs]).mean()) for runs in (1, 3, 5)]
    undecided, passed = np.ones(len(of_run), dtype=bool), 0
    for runs in range(1, MOST_RUNS + 1):
        mine = of_run[:, :runs]
        clear = undecided & clears_before(mine)
        passed += int(clear.sum())
        undecided &= ~clear & (mine.mean(1) >= 3.5)
    return [*at_once, passed / len(of_run)]


def after(door_sd: float) -> list[float]:
    """Returns the shares of the program, in the order of ROWS."""
    at_once = [share_at_once(door_sd, runs) for runs in (1, 3, 5)]
    return [*at_once, share_looking_again(door_sd)]


def main() -> None:
    """Prints the table of docs/limits.md."""
    shares = {sd: (before(sd), after(sd)) for sd in DOOR_SD_S}
    heads = " | ".join(f"SD {sd:g} s" for sd in DOOR_SD_S)
    print(f"| before, after | {heads} |")
    print("| --- |" + " --- |" * len(DOOR_SD_S))
    for nth, row in enumerate(ROWS):
        cells = " | ".join(
            f"{100 * was[nth]:.1f}, {100 * now[nth]:.1f}" for was, now in shares.values()
        )
        print(f"| {row} | {cells} |")


if __name__ == "__main__":
    main()
