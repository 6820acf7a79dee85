"""Asking for a new job by voice: numbers, spelled names, typed lines, and open values."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pytest
from click.testing import CliRunner

from handsfree.audio.sound_files import write_sound
from handsfree.cli import main
from handsfree.cli.job_choice import choose_job
from handsfree.cli.job_interview import interviewed_sheet
from handsfree.errors import JobError
from handsfree.job.job import Sheet
from handsfree.job.opening import Swing
from handsfree.language.interpreter import Language
from handsfree.recognition.ears import FakeEars, RecordedEars
from handsfree.recognition.port import Utterance
from handsfree.recognition.pre_visit_recognizer import before_visit_recognizer
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.spoken_question import SpokenQuestion

from ..speech_fixtures import Synthesize, synthesize

__all__ = ["synthesize"]

TODAY = date(2100, 12, 1)
SOUND = np.zeros(1600, dtype=np.int16)


def said(text: str) -> Utterance:
    return Utterance(text, start_s=0.0, end_s=1.0, samples=SOUND)


def interview(
    language: Language, heard: Sequence[Utterance], others: Sequence[Sheet] = (), **stated: str
) -> tuple[Sheet, list[str]]:
    shown: list[str] = []
    asked = SpokenQuestion(
        FakeEars(heard), SilentMouth("x"), language, lambda who, text: shown.append(text)
    )
    return interviewed_sheet(asked, language.wording, stated, TODAY, others), shown


def test_a_job_is_told_by_voice_and_keyboard(language):
    heard = [
        *(said("november one two"), said("affirm")),
        Utterance("Harbour Hall"),
        *(said("hotel hotel zero four"), said("negative")),
        *(said("hotel hotel zero five"), said("yes")),
        said("skip"),
        *(said("two"), said("affirm")),
        *(said("three"), said("affirm")),
        Utterance("yearly"),
    ]
    sheet, shown = interview(language, heard)
    assert (sheet.opening.name, sheet.site, sheet.reference) == ("N12", "Harbour Hall", "HH05")
    assert (sheet.technician, sheet.date) == ("", "2100-12-02")
    assert (sheet.opening.swing, sheet.procedure) == (Swing.DOUBLE_EGRESS, "yearly-service")
    assert "november one two. Yes or no?" in shown
    assert "three: December three." in shown


def test_skip_leaves_everything_but_the_name_to_the_visit(language):
    sheet, shown = interview(language, [said("skip"), Utterance("side door"), *[said("skip")] * 6])
    assert sheet.opening.name == "side door"
    assert (sheet.site, sheet.date, sheet.procedure) == ("", "", "")
    assert "swing" in sheet.opening.not_known
    assert "Spell it with alpha, bravo, charlie, or type it." in shown


def test_buildings_of_other_jobs_are_offered_and_what_is_stated_is_not_asked(language, tmp_path):
    other, _ = interview(language, [Utterance("a"), Utterance("Harbour Hall"), *[said("skip")] * 5])
    heard = [Utterance("b"), said("one"), said("affirm"), *[said("skip")] * 4]
    sheet, shown = interview(language, heard, [other], technician="R. Almeda")
    assert (sheet.site, sheet.technician) == ("Harbour Hall", "R. Almeda")
    assert "one: Harbour Hall." in shown and "Who makes the visit?" not in shown


def test_a_day_that_cannot_be_is_asked_for_again(language):
    heard = [Utterance("b"), *[said("skip")] * 3, Utterance("soon"), Utterance("2100-12-24")]
    sheet, shown = interview(language, [*heard, said("skip"), said("skip")])
    assert sheet.date == "2100-12-24"
    assert any("not a day" in text for text in shown)


@pytest.mark.parametrize("heard", [[said("stop")], [Utterance("b"), said("skip")]])
def test_without_an_end_no_file_is_written(language, heard):
    with pytest.raises(JobError, match="no job file was written"):
        interview(language, heard)


@pytest.mark.slow
def test_in_spanish_the_job_is_spanish():
    spanish = Language.load(language="es")
    heard = [said("alfa cuatro"), said("afirmo"), *[said("omitir")] * 6]
    sheet, shown = interview(spanish, heard)
    assert (sheet.opening.name, sheet.language) == ("A4", "es")
    assert "¿Cómo se llama la puerta?" in shown


@pytest.mark.slow
def test_a_real_voice_is_heard(language, synthesize: Synthesize, tmp_path):
    """A synthetic voice other than the tool's, through the recognizer of these questions."""
    gap = np.zeros(16_000, np.int16)
    texts = ("november one two", "affirm", *["skip"] * 3, "two", "yes", "skip", "seven", "affirm")
    parts = [part for text in texts for part in (gap, synthesize(text))]
    quiet = np.random.default_rng(4).normal(0, 20, sum(map(len, parts)) + len(gap))
    write_sound(tmp_path / "said.flac", (np.concatenate([*parts, gap]) + quiet).astype(np.int16))
    ears = RecordedEars(tmp_path / "said.flac", before_visit_recognizer(language))
    asked = SpokenQuestion(ears, SilentMouth("x"), language, lambda who, text: None)
    sheet = interviewed_sheet(asked, language.wording, {}, TODAY, ())
    told = (sheet.opening.name, sheet.date, sheet.procedure)
    assert told == ("N12", "2100-12-02", "yearly-service")


def test_todays_jobs_are_read_aloud_and_chosen_by_voice(language, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, day in (("side door", "2100-11-27"), ("north", "2100-12-01"), ("far", "2101-01-01")):
        arguments = ["new", "--name", name, "--date", day, "--procedure", "daily-check"]
        assert CliRunner().invoke(main, arguments).exit_code == 0
    shown: list[str] = []
    heard = FakeEars([said("two"), said("affirm")])
    asked = SpokenQuestion(heard, SilentMouth("x"), language, lambda who, text: shown.append(text))

    class Open:
        def __enter__(self) -> SpokenQuestion:
            return asked

        def __exit__(self, *error: object) -> None:
            return None

    chosen = choose_job(TODAY, lambda w: Open())
    assert chosen.name == "north.job.toml"
    assert shown[:4] == [
        "Which job? Say its number.",
        "one: side door, Daily walk check, November twenty seven.",
        "two: north, Daily walk check.",
        "And one more: type a part of its name.",
    ]


def test_a_microphone_is_asked_for_with_listen_only(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for arguments in (["--headset"], ["--listen", "--name", "a"]):
        assert CliRunner().invoke(main, ["new", *arguments]).exit_code == 2
