"""Times a leaf's cycle from a recording of its marks: ``handsfree time``."""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import click
import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.checks.number_format import counted
from handsfree.cli.picture_file import write_picture
from handsfree.cli.terminal import echo
from handsfree.errors import SoundError
from handsfree.job.quantity import QUANTITIES
from handsfree.language.interpreter import Language
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import align_words
from handsfree.timing.cycle import MOMENTS, Cycle, Label, cycle_of
from handsfree.timing.mark import Mark
from handsfree.timing.recorded_marks import marks_of
from handsfree.timing.wave_svg import mark_lines, wave_svg

_AT_MOST_S = 600.0
"""Longest recording accepted (s): a cycle takes half a minute, and hours would fill the memory."""


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
@click.option("--by-order", is_flag=True, help="Ignore words: the order alone names the marks.")
@click.option("--json", "as_json", is_flag=True, help="Print marks and times as one JSON object.")
def time(file: Path, expected: int, svg: Path | None, by_order: bool, as_json: bool) -> None:
    """Takes the times of a leaf from a recording.

    You can record it with a phone. Say a short word, click or tap on the frame when the leaf starts
    to move, reaches backcheck or 80 degrees, is fully open, starts to close, passes ten degrees,
    and latches. Leave half a second of silence before the first mark and between marks. With
    another number of marks you get the times from each to the next.

    The words of a cycle (go, check, open, closing, ten, shut) are recognized and must agree with
    the order; --by-order listens for sounds alone. With six words, a clatter is ignored.
    A recording can be ten minutes long at most.

    Exit code 2 when there are more or fewer marks than expected, or words that were not
    understood or are out of order. The error names what was found, and --svg still draws it.

    \b
    Example:
      handsfree time cycle.wav --marks 6 --svg cycle.svg
    """
    samples = read_sound(file, _AT_MOST_S)
    marks = marks_of(samples, expected)
    labels: tuple[Label, ...] = ()
    if expected == len(MOMENTS) <= len(marks) and not by_order:
        marks, labels = _with_words(samples, marks)
    cycle = cycle_of(marks if expected == len(MOMENTS) else (), labels)
    if cycle.complete:
        marks = tuple(each.mark for each in cycle.placed)
    if svg is not None:
        write_picture(svg, wave_svg(samples, mark_lines(marks, cycle)), SoundError)
    if len(marks) != expected:
        at = ", ".join(f"{mark.at_s:.2f}" for mark in marks)
        raise SoundError(
            f"{counted(len(marks), 'mark')} found, {expected} expected"
            + (f"; they are at {at} s" if marks else f" in {len(samples) / SAMPLE_RATE_HZ:.1f} s"),
            file=file,
            way_out="look at the picture that --svg draws; mark louder, or cut the recording",
        )
    if expected == len(MOMENTS) and cycle.problems:
        raise SoundError(
            f"the marks are not a cycle: {'; '.join(map(str, cycle.problems))}",
            file=file,
            way_out="look at the picture that --svg draws; --by-order ignores words",
        )
    out = _as_fields(file, len(samples) / SAMPLE_RATE_HZ, marks, cycle)
    echo(json.dumps(out, ensure_ascii=False, indent=1) if as_json else _as_text(out))


def _with_words(
    samples: NDArray[np.int16], marks: tuple[Mark, ...]
) -> tuple[tuple[Mark, ...], tuple[Label, ...]]:
    """The marks, without further sounds of the same word, and the words that name them."""
    # The recognizer takes time to import.
    from handsfree.recognition.cycle_listener import mark_recognizer
    from handsfree.recognition.mark_recognizer import MarkRecognizer, cues_at
    from handsfree.recognition.speech_model import SpeechModel

    language = Language.load()
    recognizer = mark_recognizer(SpeechModel.load(), language.automaton("mark"), language.mark)
    if not isinstance(recognizer, MarkRecognizer):
        return marks, ()
    heard = cues_at(recognizer, samples, marks, by_leaf=False)
    kept = tuple(mark for mark, _ in heard)
    return kept, align_words(kept, [said for _, said in heard], by_leaf=False)


def _as_fields(file: Path, seconds: float, marks: tuple[Mark, ...], cycle: Cycle) -> dict[str, Any]:
    moments = {each.mark: each.moment.value for each in cycle.placed}
    words = {each.mark: each.word for each in cycle.placed}
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
            {
                "moment": moments.get(mark),
                "word": words.get(mark),
                "at_s": round(mark.at_s, 4),
                **mark.model_dump(),
            }
            for mark in marks
        ],
        "times": times,
    }


def _as_text(out: dict[str, Any]) -> str:
    lines = [
        f"{mark['at_s']:8.3f} s  {mark['moment'] or f'mark {nth}'}"
        + (f" ('{mark['word']}')" if mark["word"] else "")
        + f", {mark['snr_db']:.0f} dB over the noise, ± {2 * mark['uncertainty_s']:.3f} s"
        + (", clipped" if mark["clipped"] else "")
        for nth, mark in enumerate(out["marks"], start=1)
    ]
    for each in out["times"]:
        u_s = each.get("uncertainty_s", each["marks_uncertainty_s"])
        lines.append(f"{each['seconds']:8.2f} s  {each['name']}, ± {2 * u_s:.2f} s")
    return "\n".join(lines)
