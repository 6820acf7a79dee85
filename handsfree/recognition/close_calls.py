"""Lists the alternatives of an utterance, and rejects a result that is too close to call.

It needs no numpy and no recognizer, so a phone decides like the desktop.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from handsfree.job.record import Record
from handsfree.language.meaning import Choice
from handsfree.language.meaning import Word as FixedWord
from handsfree.recognition.heard_words import UNKNOWN, Recognized, Word

PAD_S = 0.5
"""Soft noise before and after the sound that a recognizer gets (s). Digital silence can yield
words, and a short first word needs sound before it.
"""

CLOSE_NATS = 0.7
"""Difference in cost below which two sentences of different meaning are indistinguishable (nats),
so that neither is accepted. Chosen on development voices (docs/speech-model.md).
"""
ASSENT_NATS = 6.0
"""Margin that an assent needs over any other sentence (nats), because a refusal heard as an assent
does more harm than a question. See docs/speech-model.md for how it was chosen; the lattice-beam in
the model's conf/model.conf must not be smaller.
"""
COMPARED = 30
"""Number of alternatives of an utterance that are compared."""


class Alternative(Record):
    """One alternative of an utterance: its words, and their cost in nats; lower is likelier.

    ``sounds`` counts its phones of other speech.
    """

    heard: Recognized
    cost: float
    sounds: int


def alternatives_of(result: str, length_s: float) -> tuple[Alternative, ...]:
    """Lists the alternatives in Vosk's final result (JSON) of a padded utterance, likeliest first.

    ``length_s`` is the length of the unpadded sound.
    """
    found = []
    for each in json.loads(result)["alternatives"]:
        words = each.get("result", [])
        sounds = sum(entry["word"].startswith("[") for entry in words)
        heard = _recognized(words, length_s)
        found.append(Alternative(heard=heard, cost=-each["confidence"], sounds=sounds))
    return tuple(found)


def reject_close_call(
    found: Sequence[Alternative],
    meaning: Callable[[str], object],
    *,
    reject_near_opposites: bool = False,
) -> Recognized:
    """Returns the likeliest result, or other speech if another meaning is about as likely.

    An assent is rejected if another meaning costs less than ASSENT_NATS more. With
    ``reject_near_opposites`` a refusal is rejected in the same way if the other meaning is an
    assent.
    """
    likeliest = found[0]
    meant = meaning(likeliest.heard.text)
    assents, refuses = _is_assent(meant), reject_near_opposites and _is_refusal(meant)
    for other in found[1:]:
        over = other.cost - likeliest.cost
        if meant is None or over >= (ASSENT_NATS if assents or refuses else CLOSE_NATS):
            break
        instead = meaning(other.heard.text)
        if instead in (None, meant):
            continue
        if over < CLOSE_NATS or _is_assent(instead) is not assents:
            words = likeliest.heard.words
            whole = Word(word=UNKNOWN, start_s=words[0].start_s, end_s=words[-1].end_s)
            return Recognized(text=UNKNOWN, words=(whole,))
    return likeliest.heard


def _is_assent(meant: object) -> bool:
    """True for 'yes' and similar words, and for statements that something is good or safe."""
    match meant:
        case FixedWord(kind="affirm" | "locked_out" | "proved_dead") | Choice(value="in_order"):
            return True
        case _:
            return False


def _is_refusal(meant: object) -> bool:
    """True for 'no' and similar words, and for statements that something is bad or not safe."""
    match meant:
        case FixedWord(kind="negative" | "not_locked" | "still_live"):
            return True
        case Choice(value="not_in_order"):
            return True
        case _:
            return False


def _recognized(result: Iterable[Mapping[str, Any]], length_s: float) -> Recognized:
    """Converts Vosk's words to the time of the unpadded sound and merges other speech."""
    words: list[Word] = []
    for entry in result:
        name = UNKNOWN if entry["word"].startswith("[") else entry["word"]
        start, end = (
            round(min(max(entry[key] - PAD_S, 0.0), length_s), 3) for key in ("start", "end")
        )
        if name == UNKNOWN and words and words[-1].word == UNKNOWN:
            words[-1] = words[-1].model_copy(update={"end_s": end})
        else:
            words.append(Word(word=name, start_s=start, end_s=end))
    return Recognized(text=" ".join(word.word for word in words), words=tuple(words))
