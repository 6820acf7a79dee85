"""An example of every kind of event survives printing, parsing and printing."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.finding import Finding, Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.canonical_json import NO_HASH, canonical, parse_line, stamp
from handsfree.journal.controller_events import (
    CodeShown,
    EntriesReopened,
    EntryAsked,
    EntryEnded,
)
from handsfree.journal.fault_events import FaultFound, FaultProved, FaultWorked
from handsfree.journal.motion_events import (
    LeafMeasured,
    MeasuredAngle,
    MeasuredCycle,
    MeasuredSpeed,
    MeasuredTime,
)
from handsfree.journal.paper_events import PhotoKept, VisitFactKept, VisitFactWithdrawn
from handsfree.journal.search_events import SearchAnswered, SearchEnded, SearchStarted
from tests.journal.examples import FACT, OPENED, READING

FINDING = Finding(
    rule="opening time",
    subject=Subject.LEFT_LEAF,
    quantity=Quantity.OPENING_TIME,
    verdict=Verdict.FAIL,
    reading="3.10",
    limit="3.5",
    bound="at least",
    unit="s",
    guard_band="0.20",
)
EXAMPLES: tuple[ev.Body, ...] = (
    OPENED,
    ev.VisitResumed(version="0", ears="typed", mouth="none"),
    ev.TailRecovered(kept_as="journal.torn-1", bytes=17),
    ev.Said(text="Fünf Grad.", role="prompt", aloud=False, seconds="0.00"),
    ev.Heard(
        text="left leaf opening time six point two",
        meaning={"kind": "reading", "value": "6.2", "unit": None},
        start_s="1.20",
        end_s="3.40",
        clip="000005.flac",
        clip_sha256="3" * 64,
    ),
    ev.SecondHeard(
        heard=5, text="6.20 seconds.", words="six point two zero seconds", outcome="agreed"
    ),
    ev.TypedUp(heard=5, text="The arm is loose."),
    ev.StepEntered(key="opening-time:left leaf"),
    ev.StepEnded(key="opening-time:left leaf", outcome="skipped", reason="no gauge"),
    ev.CautionGiven(key="learn", text="Keep clear.", word="clear"),
    ev.CautionAcknowledged(key="learn", word="clear"),
    ev.ReadingAccepted(reading=READING),
    ev.ReadingWithdrawn(reading_id="r1"),
    ev.FactAccepted(fact=FACT),
    ev.FactsChallenged(why="both motors are left hand"),
    ev.Judged(findings=(FINDING,)),
    ev.NoteKept(step_key=None, text="rust on the arm", clip=None),
    ev.StoodBy(stop=True),
    ev.CarriedOn(),
    ev.CycleTimed(
        leaf=Subject.LEFT_LEAF,
        marks=(
            ev.TimedMark(
                sample=16000,
                end_sample=19000,
                snr_db=Decimal("31.2"),
                level_db=Decimal("-22.0"),
                uncertainty_s=Decimal("0.0041"),
            ),
        ),
        words=(ev.MarkWord(word="go", start_s=Decimal("1.002")),),
        start_s=Decimal("93.10"),
        end_s=Decimal("118.40"),
        clip="000042.flac",
        clip_sha256="0" * 64,
    ),
    LeafMeasured(
        leaf=Subject.LEFT_LEAF,
        log="left.csv",
        log_sha256="6" * 64,
        cycles=1,
        times=(
            MeasuredTime(
                quantity=Quantity.OPENING_TIME,
                seconds=Decimal("3.78"),
                uncertainty_s=Decimal("0.0062"),
            ),
        ),
        open_angle=MeasuredAngle(degrees=Decimal("90.5"), uncertainty_deg=Decimal("0.91")),
        speeds=(
            MeasuredSpeed(
                travel="opening",
                deg_s=Decimal("30.99"),
                at_deg=Decimal("26.4"),
                share=Decimal("0.0100"),
                energy_j=Decimal("2.774"),
                energy_uncertainty_j=Decimal("0.062"),
            ),
        ),
        known_angle_deg=Decimal(90),
        scale=Decimal("0.9945"),
        further=(MeasuredCycle(flags=("phone slipped",)),),
    ),
    LeafMeasured(leaf=Subject.LEFT_LEAF, log="left.csv", problem="no unit", fault="no_unit"),
    ev.SpeechSet(level="brief"),
    ev.ConfirmSet(confirm="every", why="taken_back"),
    ev.GroupOpened(group="by-hand"),
    ev.FactWithdrawn(subject=Subject.LEFT_LEAF, name="hinge_side"),
    ev.OpenSettled(key="left leaf/opening time", word="refused"),
    ev.OpenSettled(key="search/slams", word="accepted", by="the desk", by_clip="000077.flac"),
    EntryAsked(entry="hand-one"),
    EntryEnded(
        entry="hand-one",
        outcome="made",
        name="hand of motor one",
        called="entry three",
        value="one",
        shown="A1",
        clip="000031.flac",
    ),
    EntriesReopened(entries=("hand-one", "keep")),
    CodeShown(code="N1", means="Motor one turned.", remedy="Enter it again.", entry="learn"),
    SearchStarted(tree="slams", sha256="5" * 64, title="The door slams"),
    SearchAnswered(at="where-it-slams", asked="Where does it slam?", answer="end"),
    SearchEnded(
        tree="slams",
        title="The door slams",
        outcome="cured",
        cause="arm-loose",
        found="The arm is loose.",
        work="repaired",
    ),
    FaultFound(subject=Subject.LEFT_LEAF, name="arm_loose", clip="000078.flac"),
    FaultWorked(key="left leaf/arm_loose", work="replaced", part="arm", clip="000079.flac"),
    FaultProved(key="left leaf/arm_loose", by="looked", what="Is that gone?"),
    VisitFactKept(
        subject=Subject.LEFT_LEAF, name="operator_serial", value="A742", clip="000080.flac"
    ),
    VisitFactWithdrawn(name="parts_used"),
    PhotoKept(
        file="000081.jpg",
        sha256="7" * 64,
        size=41_000,
        width=1200,
        height=1600,
        source_sha256="8" * 64,
        called="label.jpg",
        taken_at="2026-03-14T09:15:02",
        step_key="signs",
    ),
    ev.Fault(what="microphone_lost", detail="no sound for two seconds", lost_s=Decimal("2.0")),
    ev.VisitClosed(),
    office.ReadingConfirmed(reading_id="r1", by="Dana"),
    office.SampleDrawn(
        seed="s", pool=("r1", "r2"), drawn=office.draw(("r1", "r2"), "s")[:1], by="Dana"
    ),
    office.ReadingsConfirmed(reading_ids=("r1", "r2"), by="Dana"),
    office.ReadingAmended(
        reading_id="r1",
        old=READING.measure,
        new=Measure(value=Decimal("6.30"), unit=Unit.SECOND),
        by="Dana",
        why="heard again",
    ),
    office.ReadingStruck(reading_id="r1", by="Dana", why="no reading"),
    office.FactAmended(
        subject=FACT.subject, name=FACT.name, old="left", new="right", by="Dana", why="heard again"
    ),
    office.VisitFactAmended(
        seq=3, name="operator_serial", old="A742", new="A743", by="Dana", why="seen on the photo"
    ),
    office.MeaningAmended(seq=4, old="six point two", new="six point three", by="Dana", why=""),
    office.NoteAmended(seq=5, old="", new="the frame is bent", by="Dana", why="not understood"),
    office.OpenDecided(
        key="left leaf/opening time", decision="return_visit", by="Dana", why="part ordered"
    ),
    office.SignedOff(by="Dana", head="0" * 64),
)


def line_of(body: ev.Body) -> bytes:
    return canonical(ev.Event(seq=1, at=stamp(datetime.now(UTC)), body=body, prev=NO_HASH))


def test_every_kind_of_event_has_an_example() -> None:
    kinds = get_args(get_args(ev.Body)[0])
    assert {type(body) for body in EXAMPLES} == set(kinds)


@pytest.mark.parametrize("body", EXAMPLES, ids=lambda body: body.kind)
def test_an_event_comes_back_the_same_in_the_same_bytes(body: ev.Body) -> None:
    line = line_of(body)
    assert parse_line(line).body == body
    assert canonical(parse_line(line)) == line


@pytest.mark.slow
@given(st.text(st.characters(exclude_categories=["Cs"])), st.decimals(0, 9999, places=2))
def test_any_text_and_number_come_back_on_one_line(text: str, value: object) -> None:
    body = ev.Said(text=text, role="answer", aloud=True, seconds=value)
    line = line_of(body)
    assert b"\n" not in line
    assert parse_line(line).body == body
    assert canonical(parse_line(line)) == line


def test_keys_are_sorted_without_spaces_and_decimals_are_text() -> None:
    event = ev.Event(seq=2, at="2026-03-04T09:15:02.120Z", body=ev.StoodBy(stop=False), prev="0")
    assert canonical(event) == (
        b'{"at":"2026-03-04T09:15:02.120Z","body":{"kind":"stood_by","stop":false},'
        b'"prev":"0","seq":2}'
    )
    assert b'"value":"6.20"' in line_of(ev.ReadingAccepted(reading=READING))


def test_a_time_is_stamped_in_utc_with_milliseconds() -> None:
    zone = timezone(timedelta(hours=2))
    assert stamp(datetime(2026, 3, 4, 11, 15, 2, 120999, zone)) == "2026-03-04T09:15:02.120Z"


def test_a_line_from_before_the_second_ear_is_read() -> None:
    """Lines as version 0 wrote them, without its fields."""
    reading = READING.model_dump(mode="json", exclude={"second_ear"})
    opened = OPENED.model_dump(mode="json", exclude={"second_ear"})
    accepted = ev.BODY.validate_python({"kind": "reading_accepted", "reading": reading})
    assert isinstance(accepted, ev.ReadingAccepted) and accepted.reading.second_ear is None
    again = ev.BODY.validate_python(opened)
    assert isinstance(again, ev.VisitOpened) and again.second_ear == ""
