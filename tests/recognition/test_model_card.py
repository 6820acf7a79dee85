from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.recognition.model_card import count_parameters, read_model_card
from handsfree.recognition.speech_model import SHIPPED

FACTS = """\
name = "mine"
status = "in use"
licence = "CC0"

[[scores]]
material = "readings"
noise = "quiet"
right = 9
wrong = 1
count = 10
"""


def test_the_shipped_model_states_its_licence_and_its_scores() -> None:
    facts = read_model_card(SHIPPED)
    assert facts is not None and facts.licence and facts.attribution and facts.trained_on
    assert {score.noise for score in facts.scores} >= {"quiet", "10 dB"}


def test_a_folder_without_the_file_states_nothing(tmp_path: Path) -> None:
    assert read_model_card(tmp_path) is None


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('licence = "CC0"', "", "licence: is missing"),
        ("right = 9", 'right = "many"', r"line 8: scores\.0\.right: input should be a valid int"),
        ("right = 9", "right = 10", r"line 5: scores\.0: .*exceed count"),
        ("count = 10", "count = 10\nhours = 3", r"line 11: scores\.0\.hours: no such key"),
    ],
)
def test_a_wrong_fact_is_named_with_its_line(
    tmp_path: Path, old: str, new: str, fault: str
) -> None:
    (tmp_path / "model.toml").write_text(FACTS.replace(old, new), encoding="utf-8")
    with pytest.raises(ModelError, match=fault):
        read_model_card(tmp_path)


def test_parameters_are_counted_in_every_form_that_kaldi_writes(tmp_path: Path) -> None:
    def size(number: int) -> bytes:
        return b"\x04" + number.to_bytes(4, "little")

    acoustic = tmp_path / "final.mdl"
    acoustic.write_bytes(
        b"<LinearParams> FM " + size(2) + size(3) + bytes(24)
        + b"<BiasParams> FV " + size(2) + bytes(8)
        + b"<Params> CM2 " + bytes(8) + b"\x05\0\0\0\x07\0\0\0" + bytes(70)
        + b"<Priors> FV " + size(4) + bytes(16)
    )  # fmt: skip
    assert count_parameters(acoustic) == 2 * 3 + 2 + 5 * 7
    acoustic.write_text("<LinearParams>  [ 1 2 ]", encoding="ascii")
    assert count_parameters(acoustic) is None
