"""The phones of the acoustic model and their numbers in its files.

Phone 1 is silence between words (also the CTC blank), phone 2 silence inside a word. Each ARPAbet
phone follows four times, once for each position in a word: begin, internal, end, singleton. Each
has one state and therefore two transition-ids: 2k - 1 stays in phone k, 2k enters it (Kaldi's
numbering for this topology).
"""

from __future__ import annotations

_LETTERS = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH "
    "UH UW V W Y Z ZH"
)
ARPABET = tuple(_LETTERS.split())
SILENCE = "SIL"
SILENCE_IN_WORD = "SIL_I"
_PLACES = {"B": "begin", "I": "internal", "E": "end", "S": "singleton"}

PHONES: tuple[tuple[str, str], ...] = (
    (SILENCE, "nonword"),
    (SILENCE_IN_WORD, "internal"),
    *((f"{phone}_{mark}", place) for phone in ARPABET for mark, place in _PLACES.items()),
)
"""Name and word boundary type of each phone; a phone's number is its index + 1."""

BOUNDARY_TYPES = frozenset(("nonword", *_PLACES.values()))

_NUMBER = {name: index + 1 for index, (name, _) in enumerate(PHONES)}


def stay(phone: str) -> int:
    """Transition-id that stays in a phone."""
    return 2 * _NUMBER[phone] - 1


def enter(phone: str) -> int:
    """Transition-id that enters a phone."""
    return 2 * _NUMBER[phone]


def placed(pronunciation: tuple[str, ...]) -> tuple[str, ...]:
    """Marks the phones of a word with their positions in it."""
    if len(pronunciation) == 1:
        return (f"{pronunciation[0]}_S",)
    first, *middle, last = pronunciation
    return (f"{first}_B", *(f"{phone}_I" for phone in middle), f"{last}_E")


def word_boundary_table() -> str:
    """Returns the text of graph/phones/word_boundary.int."""
    return "".join(f"{_NUMBER[name]} {place}\n" for name, place in PHONES)
