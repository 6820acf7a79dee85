"""The session: events are stored before speech, sound is stored with its event, breaks, silence."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.dialogue.questions.which_code import WhichCodeQuestion
from handsfree.errors import JournalError, VoiceError
from handsfree.job.closed_lists import Confirm
from handsfree.job.quantity import Quantity
from handsfree.journal import events as ev
from handsfree.journal.paper_events import VisitFactKept
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.recognition.ears import FakeEars
from handsfree.recognition.port import Utterance
from handsfree.synthesis.mouth import SilentMouth
from handsfree.visit.resume import first_state, opening_event, state_of
from handsfree.visit.session import Visit

from ..talk import PROCEDURE, SHEET

SMALL = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
LIMITS = load_limits("a156.19")
LANGUAGE = Language.load()


def said(text: str, start_s: float) -> Utterance:
    rng = np.random.default_rng(len(text))
    samples = rng.integers(-900, 900, 8000, dtype=np.int16)
    return Utterance(text, (), start_s, start_s + 0.5, samples)


class DeafMouth(SilentMouth):
    """A mouth whose voice has died."""

    def say(self, text: str, *, whole: bool = False):
        raise VoiceError("the voice died")


@dataclass
class Again:
    """A second hearing: what it hears, one after the other, and what a reading may have been."""

    texts: list[str] = field(default_factory=list)
    may_be: tuple[tuple[str, float], ...] = ()
    asked: list[tuple[int, bool]] = field(default_factory=list)
    weighed: list[Quantity] = field(default_factory=list)

    def text(self, samples, *, read_back, quantity=None) -> str:
        self.asked.append((len(samples), read_back))
        return self.texts[len(self.asked) - 1]

    def codes(self, samples) -> tuple[tuple[str, float], ...]:
        raise AssertionError("no step of this visit waits for a code")

    def readings(self, samples, quantity) -> tuple[tuple[str, float], ...]:
        self.weighed.append(quantity)
        return self.may_be


def a_visit(
    folder: Path,
    utterances,
    mouth=None,
    watch=lambda event: None,
    keep_clips="all",
    retry=None,
) -> Visit:
    return Visit(
        Journal.create(folder),
        first_state(SHEET, SMALL, LIMITS),
        language=LANGUAGE,
        ears=FakeEars(utterances),
        mouth=mouth or SilentMouth("a test"),
        clock=FakeClock(),
        watch=watch,
        keep_clips=keep_clips,
        retry=retry,
    )


def run(
    folder: Path, *utterances: Utterance, confirm: Confirm = "every", **parts
) -> tuple[ev.Event, ...]:
    visit = a_visit(folder, utterances, **parts)
    opened = opening_event(SHEET, SMALL, LIMITS, model="none", ears="fake", mouth="silent")
    visit.open(opened, confirm=confirm)
    visit.run()
    visit._journal.close()
    return read(folder)


def test_everything_heard_and_said_is_kept_in_order_and_verifies(tmp_path):
    events = run(tmp_path, said("done", 1.0), said("nice weather", 3.0), said("clear", 5.0))
    kinds = [event.body.kind for event in events]
    assert kinds[:5] == ["visit_opened", "step_entered", "said", "said", "heard"]
    heard = [e.body for e in events if isinstance(e.body, ev.Heard)]
    assert [h.text for h in heard] == ["done", "nice weather", "clear"]
    assert [h.meaning for h in heard] == [{"kind": "done"}, None, {"kind": "clear"}]
    assert verify(tmp_path).whole


def test_the_sound_of_an_utterance_stands_beside_its_event(tmp_path):
    events = run(tmp_path, said("done", 1.0))
    (event,) = [e for e in events if isinstance(e.body, ev.Heard)]
    assert event.body.clip == f"{event.seq:06d}.flac"
    assert (tmp_path / "clips" / event.body.clip).stat().st_size > 0
    assert (event.body.start_s, event.body.end_s) == (Decimal("1.00"), Decimal("1.50"))


def test_an_event_is_on_disk_before_anything_after_it_is_spoken(tmp_path):
    on_disk: list[int] = []

    class Watching(SilentMouth):
        def say(self, text: str, *, whole: bool = False):
            on_disk.append(len(read(tmp_path)))
            return super().say(text)

    events = run(tmp_path, said("done", 1.0), mouth=Watching("a test"))
    spoken = [event.seq for event in events if isinstance(event.body, ev.Said)]
    assert on_disk == [seq - 1 for seq in spoken]


def test_a_dead_voice_does_not_end_the_visit(tmp_path):
    events = run(tmp_path, said("done", 1.0), said("clear", 3.0), mouth=DeafMouth("dead"))
    spoken = [e.body for e in events if isinstance(e.body, ev.Said)]
    assert spoken and not any(body.aloud for body in spoken)
    assert any(isinstance(e.body, ev.CautionAcknowledged) for e in events)


def test_an_answer_that_is_waited_for_is_sought_in_the_sound_once_more(tmp_path):
    again = Again(["next", "next", "six"])
    # A caution is not sought, nor what is understood, nor typed; 'six' is no answer here.
    utterances = (
        *(said("[unk]", 1.0), said("[unk]", 3.0), said("clear", 5.0)),
        *(Utterance("nice weather"), said("[unk]", 7.0), said("[unk]", 9.0)),
    )
    events = run(tmp_path, *utterances, retry=again)
    heard = [e.body for e in events if isinstance(e.body, ev.Heard)]
    assert [h.text for h in heard] == ["next", "[unk]", "clear", "nice weather", "next", "[unk]"]
    assert [h.meaning["kind"] if h.meaning else None for h in heard] == [
        *("done", None, "clear", None, "done", None)
    ]
    # A step of work is over at once; what was seen is read back.
    assert again.asked == [(8000, False), (8000, False), (8000, True)]
    assert verify(tmp_path).whole


def test_what_a_reading_may_have_been_is_kept_with_it_and_outlasts_a_break(tmp_path):
    """The journal has it, so a visit that is taken up again waits for the same answer."""
    again = Again(may_be=(("left leaf opening time six point two", 7.0), ("sixty two", 5.0)))
    events = run(tmp_path, said("left leaf opening time sixty two", 1.0), retry=again)
    assert again.weighed == [Quantity.OPENING_TIME]
    (heard,) = [e.body for e in events if isinstance(e.body, ev.Heard)]
    assert heard.may_be == ("left leaf opening time six point two",)
    texts = [e.body.text for e in events if isinstance(e.body, ev.Said)]
    assert texts[-1].startswith("I'm not sure. Left leaf, opening time, six point two seconds.")
    (item,) = state_of(events, SMALL, LIMITS, LANGUAGE, tmp_path).pending.items
    assert (item.value, item.doubt) == (Decimal("6.2"), "value")


def test_typed_readings_are_not_weighed(tmp_path):
    again = Again(may_be=(("left leaf opening time six point two", 0.0),))
    events = run(tmp_path, Utterance("left leaf opening time sixty two"), retry=again)
    assert not again.weighed
    assert all(e.body.may_be == () for e in events if isinstance(e.body, ev.Heard))


def test_an_older_journal_that_knows_no_such_field_is_read():
    body = ev.Heard.model_validate({"kind": "heard", "text": "six", "meaning": None})
    assert body.may_be == ()


def test_two_codes_that_sound_alike_are_asked_about_after_a_break_too(tmp_path):
    events = run(tmp_path, said("it shows echo four two", 1.0))
    close = ("it shows echo five two",)
    heard = [
        event.model_copy(update={"body": event.body.model_copy(update={"may_be": close})})
        if isinstance(event.body, ev.Heard)
        else event
        for event in events
    ]
    state = state_of(tuple(heard), SMALL, LIMITS, LANGUAGE, tmp_path)
    assert state.pending == WhichCodeQuestion(marks=("E42", "E52"))


@pytest.mark.parametrize(("heard", "filed"), [("affirm", 1), ("correct", 0), ("negative", 0)])
def test_an_assent_that_may_be_half_a_refusal_is_not_sought(tmp_path, heard, filed):
    utterances = [said("left leaf opening time six point two", 1.0), said("[unk]", 3.0)]
    events = run(tmp_path, *utterances, retry=Again([heard]))
    assert sum(isinstance(e.body, ev.ReadingAccepted) for e in events) == filed


def test_a_long_silence_in_the_sound_is_answered_once(tmp_path):
    events = run(tmp_path, said("why", 1.0), said("why", 60.0))
    texts = [e.body.text for e in events if isinstance(e.body, ev.Said)]
    assert texts.count("Say done when it is done.") == 1


def test_a_visit_goes_on_where_it_stood_with_every_accepted_reading(tmp_path):
    lines = ["done", "clear", "done", "in order", "affirm", "in order", "affirm"]
    lines += ["left hand", "affirm", "right hand", "affirm", "six point two", "affirm"]
    lines += ["six"]  # read back, and still waiting for its 'affirm' at the break
    run(tmp_path, *(said(text, 2.0 * i) for i, text in enumerate(lines)))
    before = read(tmp_path)
    state = state_of(before, SMALL, LIMITS, LANGUAGE, tmp_path)
    assert state.progress.at == "hold-open:left leaf"
    with Journal.open(tmp_path, FakeClock().utc()) as journal:
        visit = Visit(
            journal,
            state,
            language=LANGUAGE,
            ears=FakeEars([said("affirm", 2.0)]),
            mouth=SilentMouth("a test"),
            clock=FakeClock(),
        )
        visit.reopen(ev.VisitResumed(version="0", ears="fake", mouth="silent"))
        visit.run()
    values = [
        (e.body.reading.quantity, e.body.reading.value)
        for e in read(tmp_path)
        if isinstance(e.body, ev.ReadingAccepted)
    ]
    assert values == [("opening_time", Decimal("6.2")), ("hold_open_time", Decimal("6"))]
    assert verify(tmp_path).whole


def test_a_changed_procedure_is_not_resumed_blindly(tmp_path):
    run(tmp_path, said("done", 1.0))
    other = SMALL.model_copy(update={"sha256": "1" * 64})
    with pytest.raises(JournalError, match="the procedure has changed"):
        state_of(read(tmp_path), other, LIMITS, LANGUAGE, tmp_path)


class Saying(SilentMouth):
    """Keeps what it is given to say."""

    def __init__(self) -> None:
        super().__init__("a test")
        self.texts: list[str] = []

    def say(self, text: str, *, whole: bool = False):
        self.texts.append(text)
        return super().say(text, whole=whole)


def test_a_journal_that_is_taken_away_is_said_aloud_and_nothing_is_said_to_be_filed(tmp_path):
    mouth, folder = Saying(), tmp_path / "visit"
    steps = ("done", "clear", "done", "left leaf opening time six point two seconds")

    def take(event: ev.Event) -> None:
        if isinstance(event.body, ev.Heard) and event.body.text == steps[-1]:
            (folder / "journal.jsonl").unlink()

    utterances = [said(text, at * 3.0) for at, text in enumerate([*steps, "affirm"])]
    with pytest.raises(JournalError):
        run(folder, *utterances, mouth=mouth, watch=take)
    assert mouth.texts[-1] == LANGUAGE.wording.say("journal_gone")
    saved = read(tmp_path / "visit-kept-1")
    assert isinstance(saved[-1].body, ev.Said)  # the read back, the last that was done


def test_a_disk_that_takes_nothing_more_is_said_aloud(tmp_path, monkeypatch):
    mouth = Saying()

    def full(*parts: object) -> int:
        raise OSError(28, "No space left on device")

    def fill(event: ev.Event) -> None:
        if isinstance(event.body, ev.Heard):
            monkeypatch.setattr("handsfree.journal.writer.write_all", full)

    with pytest.raises(JournalError, match="no space left"):
        run(tmp_path / "visit", said("done", 0.0), said("clear", 3.0), mouth=mouth, watch=fill)
    assert mouth.texts[-1] == LANGUAGE.wording.say("journal_unwritten")


def test_sound_that_cannot_be_kept_is_said_aloud_once(tmp_path, monkeypatch):
    mouth = Saying()

    def full(*parts: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("handsfree.journal.clip_files.replace_file", full)
    run(tmp_path / "visit", said("done", 0.0), said("clear", 3.0), mouth=mouth)
    told = [text for text in mouth.texts if text == LANGUAGE.wording.say("fault_clip_not_kept")]
    assert len(told) == 1


def test_facts_on_paper_are_kept_with_their_sound_and_found_again_on_resuming(tmp_path):
    events = run(
        tmp_path,
        *(said("arrival", 1.0), said("operator serial alpha one", 3.0), said("affirm", 5.0)),
        *(said("parts used", 7.0), said("a spring", 9.0)),
        *(Utterance("taken over by: the front desk"), said("gauge calibrated march twenty", 11.0)),
        keep_clips="readings",
    )
    kept = [e.body for e in events if isinstance(e.body, VisitFactKept)]
    assert [(each.name, each.value) for each in kept] == [
        ("arrival", ""),
        ("operator_serial", "A1"),
        ("parts_used", ""),  # its sound is what counts
        ("taken_over_by", "the front desk"),
    ]
    heard = {e.body.clip for e in events if isinstance(e.body, ev.Heard)}
    assert all(each.clip in heard for each in kept[:3]) and kept[2].clip is not None
    state = state_of(events, SMALL, LIMITS, LANGUAGE, tmp_path)
    assert state.progress.noted == {
        "opening/arrival": 1,
        "opening/operator_serial": 1,
        "opening/parts_used": 1,
        "opening/taken_over_by": 1,
    }


def test_a_serial_number_that_waits_for_its_affirm_waits_again_after_a_break(tmp_path):
    events = run(tmp_path, said("operator serial alpha one", 1.0))
    pending = state_of(events, SMALL, LIMITS, LANGUAGE, tmp_path).pending
    assert (pending.fact, pending.value) == ("operator_serial", "A1")
