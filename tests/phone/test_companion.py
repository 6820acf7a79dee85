"""The visit inside the app, run by CPython, gives the journal of the desktop's typed visit."""

import json

import numpy as np
import pytest

from handsfree.clock import FakeClock
from handsfree.job.finding import Verdict
from handsfree.journal import events as ev
from handsfree.journal.clip_files import flac_of
from handsfree.journal.reader import read, verify
from handsfree.language.interpreter import Language
from handsfree.phone.build import STATIC
from handsfree.phone.companion import Companion
from handsfree.phone.start_page import start_page
from handsfree.recognition.close_calls import PAD_S
from handsfree.reports.unpack import unpack
from handsfree.visit_record.glance import ReadingRow

from ..script import typed_lines
from .walks import JOB, PROCEDURE, bodies_of, desktop_walk


@pytest.fixture
def companion(tmp_path):
    made = Companion(str(tmp_path / "harbour"), FakeClock())
    yield made
    made.close()


def found(*said: str, start_s: float = 0.0) -> str:
    """What the page's recognizer finds in a second of sound, likeliest first, a nat apart."""
    return json.dumps(
        {
            "alternatives": [
                {"confidence": -float(nth), "result": result_of(text, start_s)}
                for nth, text in enumerate(said)
            ]
        }
    )


def result_of(text: str, start_s: float) -> list[dict]:
    start = PAD_S + start_s
    return [{"word": word, "start": start, "end": start + 0.4} for word in text.split()]


def screen(answer: str) -> dict:
    shown = json.loads(answer)
    assert "error" not in shown, shown
    return shown


@pytest.mark.slow
def test_a_whole_typed_visit_keeps_what_the_desktop_keeps(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE))
    for line in typed_lines():
        shown = screen(companion.take_line(line))
    assert shown["closed"]
    mine = bodies_of(read(tmp_path / "harbour"))
    assert mine == desktop_walk(tmp_path / "desktop", typed_lines())


def test_the_first_screen_shows_step_and_prompt(companion):
    shown = screen(companion.begin(JOB, PROCEDURE))
    assert shown["step"] == "people safe"
    assert [each["say"] for each in shown["out"]][-1] == shown["waits"]
    assert not shown["closed"]


def test_a_broken_visit_goes_on_at_the_same_step(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE))
    before = screen(companion.take_line("done"))
    companion.close()
    again = Companion(str(tmp_path / "harbour"), FakeClock())
    after = screen(again.resume())
    again.close()
    assert (after["step"], after["closed"]) == (before["step"], False)


def test_a_choice_is_offered_for_a_touch_and_a_caution_is_not(companion):
    screen(companion.begin(JOB, PROCEDURE))
    caution = screen(companion.take_line("done"))
    assert caution["waits"].startswith("Caution.") and caution["choices"] == []
    shown = [
        screen(companion.take_line(line))
        for line in ("clear", "locked out", "clear", "proved dead")
    ]
    assert "same way" in shown[-1]["choices"]


def test_sound_from_the_page_is_kept_as_a_clip(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE, "model x", False))
    sound = np.random.default_rng(1).integers(-3000, 3000, 16_000, np.int16)
    screen(companion.hear(found("done"), "{}", 1.0, 16_000, flac_of(sound), 0.05, 20.0))
    heard = [e.body for e in read(tmp_path / "harbour") if isinstance(e.body, ev.Heard)]
    assert [(h.text, h.start_s, h.clip is not None) for h in heard] == [("done", 1, True)]
    assert verify(tmp_path / "harbour").clips == 1


def test_an_assent_that_may_have_been_another_sentence_is_not_understood(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE, "model x", False))
    screen(companion.take_line("done"))
    for said in (("clear", "[AA]"), ("yes", "no", "[AA]"), ("yes", "[AA]")):
        companion.hear(found(*said), "{}", 1.0, 16_000 * 3, b"", 0.05, 20.0)
    heard = [e.body for e in read(tmp_path / "harbour") if isinstance(e.body, ev.Heard)]
    assert [each.text for each in heard][1:] == ["clear", "[unk]", "yes"]


def test_what_was_not_understood_is_heard_again_by_the_page(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE, "model x", False))
    for line in ("done", "clear"):
        screen(companion.take_line(line))
    before = read(tmp_path / "harbour")
    asked = companion.hear(found("[AA]"), "{}", 1.0, 16_000, b"", 0.05, 20.0)
    assert json.loads(asked) == {"again": {"graph": "at-once", "most": 30}}
    assert read(tmp_path / "harbour") == before
    again = json.dumps({"at-once": found("locked out")})
    screen(companion.hear(found("[AA]"), again, 1.0, 16_000, b"", 0.05, 20.0))
    (heard,) = [
        event.body
        for event in read(tmp_path / "harbour")[len(before) :]
        if isinstance(event.body, ev.Heard)
    ]
    assert (heard.text, heard.retried) == ("locked out", True)


def test_a_pack_is_unpacked_with_a_report(companion, tmp_path):
    screen(companion.begin(JOB, PROCEDURE))
    screen(companion.take_line("done"))
    file = tmp_path / "harbour.visit.zip"
    file.write_bytes(companion.packed())
    done = unpack(file, tmp_path / "office")
    assert verify(done.folder).whole
    assert (done.folder / "report.html").is_file()


def test_a_wrong_job_is_one_clear_line_and_leaves_no_visit(companion, tmp_path):
    answer = json.loads(companion.begin("[job]\nreference = 4\n", PROCEDURE))
    assert "job file" in answer["error"]
    assert not (tmp_path / "harbour").exists()


def test_limits_that_are_a_file_are_refused(companion):
    answer = json.loads(companion.begin(JOB.replace('"a156.19"', '"mine.toml"'), PROCEDURE))
    assert "mine.toml" in answer["error"]


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_button_says_what_the_grammar_understands(language):
    says = json.loads((STATIC / "words.json").read_text(encoding="utf-8"))[language]["say"]
    grammar = Language.load(language=language)
    wanted = {
        **{"yes": "affirm", "no": "negative", "again": "say_again"},
        **{"done": "done", "help": "help", "stop": "stop"},
    }
    for name, kind in wanted.items():
        assert grammar.parse(says[name]).kind == kind, says[name]


def test_both_languages_of_the_page_have_the_same_words():
    words = json.loads((STATIC / "words.json").read_text(encoding="utf-8"))
    assert words["en"].keys() == words["es"].keys()


def test_the_page_uses_no_word_that_nobody_wrote():
    words = json.loads((STATIC / "words.json").read_text(encoding="utf-8"))["en"]
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    used = {part.split('"')[0] for part in page.split('data-word="')[1:]}
    assert used <= words.keys()


def test_the_first_page_lists_the_owners_walk_in_both_languages():
    listed = json.loads(start_page())["procedures"]
    for language in ("en", "es"):
        assert "daily-check" in [each["name"] for each in listed[language]]


WORDS = ("go", "check", "open", "closing", "ten", "shut")
AT_S = (1.0, 4.7, 6.8, 13.3, 17.7, 19.8)


def run_of_the_page(companion, cancelled=False):
    """A run as delivered by the page: six marks, each with its word."""
    marks, labels = [], []
    for word, at_s in zip(WORDS, AT_S, strict=True):
        labels += json.loads(companion.marks(found(word), 1.0, at_s - 0.16))["labels"]
        sample = round(at_s * 16_000)
        sound = {"snr_db": 30.01, "level_db": -20.04, "uncertainty_s": 0.00512, "clipped": False}
        marks.append({"sample": sample, "end_sample": sample + 4000, **sound})
    span = {"cancelled": cancelled, "start_s": 10.0, "end_s": 31.0}
    run = {"marks": marks, "labels": labels, "count": 21 * 16_000, "expected": 6, "heard": {}}
    words = iter(WORDS)
    while (piece := json.loads(companion.piece_wanted(json.dumps(run)))) is not None:
        heard = found(next(words), start_s=0.55 - 0.16)
        assert [each["graph"] for each in piece["hear"]] == ["clock", "clock-words"]
        run["heard"][f"{piece['begin']}-{piece['end']}"] = [heard, heard]
    assert list(words) == []
    return json.dumps(run | span)


def to_the_clock(companion):
    """A listening visit in which the stopwatch was started; its last screen."""
    screen(companion.begin(JOB, PROCEDURE, "model x"))
    lines = typed_lines()
    for line in lines[: lines.index("what is the limit")]:
        screen(companion.take_line(line))
    return screen(companion.take_line("start the clock left leaf"))


@pytest.mark.slow
def test_a_run_of_the_page_is_timed_and_its_sound_kept(companion, tmp_path):
    assert to_the_clock(companion)["clock"] == {"expected": 6, "least_rms": 0.0}
    waiting = screen(companion.take_line("affirm"))  # while the clock runs
    assert waiting["clock"] is not None and waiting["out"] == []
    sound = flac_of(np.zeros(16_000, np.int16))
    done = screen(companion.timed(run_of_the_page(companion), sound))
    assert done["clock"] is None and done["heard"] == "affirm"
    bodies = [event.body for event in read(tmp_path / "harbour")]
    (timed,) = [body for body in bodies if isinstance(body, ev.CycleTimed)]
    assert [word.word for word in timed.words] == list(WORDS)
    assert timed.clip is not None and (timed.start_s, timed.end_s) == (10, 31)
    later = [body.text for body in bodies[bodies.index(timed) :] if isinstance(body, ev.Heard)]
    assert later == ["affirm"]
    assert verify(tmp_path / "harbour").whole


@pytest.mark.slow
def test_cancel_ends_the_run_and_is_no_line_of_the_visit(companion):
    to_the_clock(companion)
    assert json.loads(companion.marks(found("cancel clock"), 1.0, 0.0))["cancel"]
    assert screen(companion.take_line("cancel clock"))["cancel"]
    ended = screen(companion.timed(run_of_the_page(companion, cancelled=True), b""))
    assert ended["clock"] is None and ended["heard"] != "cancel clock"


def test_a_spanish_screen_is_spanish(companion, tmp_path):
    job = JOB.replace("[job]", '[job]\nlanguage = "es"')
    shown = screen(companion.begin(job, "yearly-service"))
    words = Language.load(language="es").wording
    assert shown["step"].startswith("1 de ")
    shown = screen(companion.microphone(False, "gone"))
    assert shown["fault"] == words.say("fault_microphone_lost")
    companion._live._glance = companion._live._glance.model_copy(
        update={
            "rows": (
                ReadingRow(
                    subject="left leaf",
                    quantity="opening time",
                    values=("4.2",),
                    limit="at least 3.0 s",
                    limits=(("at least", "3.0 s"),),
                    verdict=Verdict.PASS,
                ),
            )
        }
    )
    (row,) = screen(companion.take_line("repita"))["rows"]
    assert (row["subject"], row["quantity"]) == ("hoja izquierda", "tiempo de apertura")
    assert row["limit"] == f"{words.say('at_least')} 3.0 s"
    assert row["verdict"] == "pass" and row["told"] == words.say("verdict_pass").rstrip(".").lower()
