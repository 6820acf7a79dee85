"""handsfree time: the times of a door's cycle from a recording of its marks."""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import click

from handsfree.errors import SoundError
from handsfree.job.quantity import QUANTITIES
from handsfree.speech.model import SAMPLE_RATE
from handsfree.speech.sound import read_sound
from handsfree.timing.cycle import MOMENTS, Cycle, cycle_of
from handsfree.timing.mark import Mark
from handsfree.timing.recording import marks_of
from handsfree.timing.wave_svg import lines_of, wave_svg


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--marks",
    "expected",
    type=click.IntRange(min=2),
    default=len(MOMENTS),
    show_default=True,
    help="How many marks the recording has; six make one cycle of a leaf.",
)
@click.option("--svg", type=click.Path(path_type=Path), help="Draw the sound with its marks.")
@click.option("--json", "as_json", is_flag=True, help="Print marks and times as one JSON object.")
def time(file: Path, expected: int, svg: Path | None, as_json: bool) -> None:
    """Takes the times of a leaf from a recording, made with a phone for instance.

    Say a short word, click or tap on the frame when the leaf starts to move, reaches
    backcheck or 80 degrees, is fully open, starts to close, passes ten degrees, and
    latches. Leave half a second of silence before the first mark and between marks.
    With another number of marks the times from each to the next are given.

    Exit code 2 when there are more or fewer marks than expected; what was found is said,
    and drawn where a picture was asked for.

    \b
    Example:
      handsfree time cycle.wav --marks 6 --svg cycle.svg
    """
    samples = read_sound(file)
    marks = marks_of(samples, expected)
    cycle = cycle_of(marks if expected == len(MOMENTS) else ())
    if svg is not None:
        _draw(svg, wave_svg(samples, lines_of(marks, cycle)))
    if len(marks) != expected:
        at = ", ".join(f"{mark.at_s:.2f}" for mark in marks)
        raise SoundError(
            f"{len(marks) or 'no'} marks found, {expected} expected"
            + (f"; they are at {at} s" if marks else f" in {len(samples) / SAMPLE_RATE:.1f} s"),
            file=file,
            way_out="look at the picture that --svg draws; mark louder, or cut the recording",
        )
    out = _as_fields(file, len(samples) / SAMPLE_RATE, marks, cycle)
    click.echo(json.dumps(out, ensure_ascii=False, indent=1) if as_json else _as_text(out))


def _as_fields(file: Path, seconds: float, marks: tuple[Mark, ...], cycle: Cycle) -> dict[str, Any]:
    moments = {each.mark: each.moment.value for each in cycle.placed}
    if cycle.placed:
        times = [
            {
                "quantity": each.quantity.value,
                "name": QUANTITIES[each.quantity].spoken,
                "seconds": round(each.seconds, 3),
                "marks_uncertainty_s": round(each.marks_s, 4),
                "uncertainty_s": round(each.uncertainty_s, 4),
            }
            for each in cycle.intervals
        ]
    else:
        times = [
            {
                "name": f"mark {nth} to {nth + 1}",
                "seconds": round(end.at_s - begin.at_s, 3),
                "marks_uncertainty_s": round(math.hypot(begin.uncertainty_s, end.uncertainty_s), 4),
            }
            for nth, (begin, end) in enumerate(itertools.pairwise(marks), start=1)
        ]
    return {
        "file": str(file),
        "seconds": round(seconds, 3),
        "marks": [
            {"moment": moments.get(mark), "at_s": round(mark.at_s, 4), **mark.model_dump()}
            for mark in marks
        ],
        "times": times,
    }


def _as_text(out: dict[str, Any]) -> str:
    lines = [
        f"{mark['at_s']:8.3f} s  {mark['moment'] or f'mark {nth}'}, {mark['snr_db']:.0f} dB over"
        f" the noise, ± {2 * mark['uncertainty_s']:.3f} s"
        + (", clipped" if mark["clipped"] else "")
        for nth, mark in enumerate(out["marks"], start=1)
    ]
    for each in out["times"]:
        u_s = each.get("uncertainty_s", each["marks_uncertainty_s"])
        lines.append(f"{each['seconds']:8.2f} s  {each['name']}, ± {2 * u_s:.2f} s")
    return "\n".join(lines)


def _draw(svg: Path, picture: str) -> None:
    try:
        svg.write_text(picture, encoding="utf-8")
    except OSError as error:
        raise SoundError(
            "the picture cannot be written", file=svg, way_out="name a writable .svg file"
        ) from error
