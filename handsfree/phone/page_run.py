"""A timed run from the page: its marks, and the words that the page recognized at them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from handsfree.recognition.close_calls import alternatives_of
from handsfree.recognition.cycle_run import CycleRun
from handsfree.recognition.heard_words import MarkOf
from handsfree.recognition.mark_cues import MOST, HeardCue, cue_of, cues_between
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import CueCandidates, align_words
from handsfree.timing.cycle import MOMENTS, NEAR_S, Label
from handsfree.timing.mark import Mark

CLOCK, CLOCK_WORDS = "clock", "clock-words"
"""Graphs of the words that are said while the clock runs: with other speech, and without."""


class _PieceWanted(Exception):
    """Names a piece of the run that the page has not decoded yet."""


def piece_wanted(run: str, mark_of: MarkOf) -> str:
    """Names the next piece of a run that the page must decode, as JSON; null if none is left.

    ``run`` is JSON: ``marks``, ``count`` of the samples so far, how many marks are ``expected``,
    and what was ``heard`` in each piece ('0-800').
    """
    told = json.loads(run)
    try:
        _cues(told, [_mark_of(each) for each in told["marks"]], mark_of)
    except _PieceWanted as wanted:
        begin, end = wanted.args
        hear = [{"graph": CLOCK, "most": 1}, {"graph": CLOCK_WORDS, "most": MOST}]
        return json.dumps({"begin": begin, "end": end, "hear": hear})
    return "null"


def cycle_run(run: str, flac: bytes, mark_of: MarkOf) -> CycleRun:
    """Builds a run from what the page timed and heard: as for ``piece_wanted``, and its ``labels``,
    whether it was ``cancelled``, ``start_s`` and ``end_s``.
    """
    told = json.loads(run)
    marks = [_mark_of(each) for each in told["marks"]]
    labels = tuple(Label.model_validate(each) for each in told["labels"])
    span = told["start_s"], told["end_s"]
    if told["cancelled"]:  # what was said at its marks does not matter
        return CycleRun(tuple(marks), labels, flac, True, *span)
    heard = _cues(told, marks, mark_of)
    at_marks = align_words(
        [mark for mark, _ in heard], [said for _, said in heard], by_leaf=_by_leaf(told)
    )
    elsewhere = (one for one in labels if all(abs(m.at_s - one.start_s) > NEAR_S for m in marks))
    in_order = sorted((*at_marks, *elsewhere), key=lambda label: label.start_s)
    named = tuple(mark for mark, _ in heard)
    return CycleRun(named, tuple(in_order), flac, False, *span)


def _by_leaf(told: Mapping[str, Any]) -> bool:
    return bool(told["expected"] > len(MOMENTS))


def _cues(
    told: Mapping[str, Any], marks: Sequence[Mark], mark_of: MarkOf
) -> list[tuple[Mark, CueCandidates]]:
    def said_in(begin: int, end: int) -> HeardCue:
        heard = told["heard"].get(f"{begin}-{end}")
        if heard is None:
            raise _PieceWanted(begin, end)
        length_s = (end - begin) / SAMPLE_RATE_HZ
        best, words = (alternatives_of(each, length_s) for each in heard)
        return cue_of(best[0], words, mark_of, begin / SAMPLE_RATE_HZ)

    return cues_between(said_in, told["count"], marks, by_leaf=_by_leaf(told))


def _mark_of(found: dict[str, float]) -> Mark:
    """A mark of the page, rounded as the desktop's are."""
    places = {"snr_db": 1, "level_db": 1, "uncertainty_s": 4}
    return Mark.model_validate(found | {key: round(found[key], n) for key, n in places.items()})
