"""Second pass over the current utterance, made by the page, which has the sound."""

from __future__ import annotations

from collections.abc import Callable, Sized
from typing import Any

from handsfree.job.quantity import Quantity
from handsfree.recognition.close_calls import Alternative, alternatives_of
from handsfree.recognition.second_pass import NarrowGrammar, SecondPass
from handsfree.sample_rate import SAMPLE_RATE_HZ


class PassWanted(Exception):
    """Names the narrow grammar that the page still has to use, and how many results to list."""

    def __init__(self, narrow: NarrowGrammar, most: int) -> None:
        super().__init__(narrow)
        self.wanted = {"graph": graph_name(narrow), "most": most}


class PageSecondPass(SecondPass[Sized]):
    """Second passes over one utterance, made by the page.

    ``found`` has the recognizer's answer (JSON) for each graph. A missing one raises PassWanted.
    """

    def __init__(self, meaning: Callable[[str], object]) -> None:
        super().__init__(meaning)
        self.found: dict[str, Any] = {}

    def alternatives(
        self, sound: Sized, narrow: NarrowGrammar, most: int
    ) -> tuple[Alternative, ...]:
        """Lists the alternatives that the page found with a narrow grammar, likeliest first."""
        found = self.found.get(graph_name(narrow))
        if found is None:
            raise PassWanted(narrow, most)
        return alternatives_of(found, len(sound) / SAMPLE_RATE_HZ)


def graph_name(narrow: NarrowGrammar) -> str:
    """The folder of a narrow grammar's graph in the model's archive."""
    name = narrow.value if isinstance(narrow, Quantity) else narrow
    return name.replace(" ", "-")
