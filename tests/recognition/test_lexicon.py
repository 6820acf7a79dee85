from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.recognition.lexicon import parse_lexicon, read_lexicon


def test_a_word_may_have_several_pronunciations() -> None:
    lexicon = parse_lexicon("# the CMU dictionary's\nzero Z IH R OW\nzero Z IY R OW\noh OW\n")
    assert lexicon.of("zero") == (("Z", "IH", "R", "OW"), ("Z", "IY", "R", "OW"))
    assert lexicon.missing(["oh", "zero", "niner"]) == ["niner"]


@pytest.mark.parametrize(
    ("line", "fault"), [("oh OU", "'OU' is not a phone"), ("oh", "the word has no phones")]
)
def test_a_wrong_line_is_named(line: str, fault: str) -> None:
    with pytest.raises(ModelError) as raised:
        parse_lexicon(f"one W AH N\n{line}\n", Path("lexicon.txt"))
    assert str(raised.value).startswith(f"lexicon.txt, line 2: {fault}")


def test_a_missing_lexicon_is_named(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="pronunciations cannot be read"):
        read_lexicon(tmp_path / "lexicon.txt")
