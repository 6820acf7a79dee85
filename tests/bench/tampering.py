"""Changes a journal in every place, recomputes its hashes, and checks what its readers do.

    python -m tests.bench.tampering

A visit has one event of every kind. Every value in it is removed, replaced by malicious ones, or
joined by one that no version knows. Every reader of a visit must read it, or say in one line what
is wrong (a HandsfreeError); nothing may end in a traceback or hang. Then every byte of a line is
changed without new hashes; each change must be found.
"""

from __future__ import annotations

import argparse
import copy
import json
import signal
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from types import FrameType
from typing import Any

from handsfree.checks.limits import load_limits
from handsfree.errors import HandsfreeError
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.journal import reader
from handsfree.journal.canonical_json import NO_HASH, canonical, sha256_of
from handsfree.journal.head_file import Head, write_head
from handsfree.journal.photo_files import PICTURES
from handsfree.language.interpreter import Language
from handsfree.language.meaning import (
    MEANING,
    Choice,
    Correction,
    FactSaid,
    GoTo,
    ReadBack,
    ReadingSaid,
    ReadingsSaid,
    StartClock,
    WithdrawRun,
    Word,
)
from handsfree.ledger.read_visits import read_visit
from handsfree.office.visit_folders import Place
from handsfree.office.visit_index import _read
from handsfree.procedure.loader import load_procedure
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.export import export_csv, export_json
from handsfree.reports.pack import pack
from handsfree.reports.record_data import record_data
from handsfree.reports.report_html import report_html
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.visit.resume import state_of
from handsfree.visit_record.load import load_record
from handsfree.visit_record.progress import job_of
from tests.journal.test_canonical_json import EXAMPLES

LIMIT_S = 20
NEWER = object()
"""Stands for an additional value that no version knows."""
HOSTILE: tuple[Any, ...] = (
    "zip tie", "", "\x1b]0;x\x07\u202e", "9" * 5000, "1E+999999", "1E+400", "NaN", "kg", "-1",
    "../../etc/passwd", -1, 10**30, 1.5, True, None, [], {}, {"kind": "a newer one"}, [None],
)  # fmt: skip
MORE: tuple[ev.Body, ...] = tuple(
    ev.FactAccepted(fact=Fact(subject=subject, name=name, value=value))
    for subject, name, value in (
        (Subject.OPENING, "lock", "latch"),
        (Subject.OPENING, "swing", "single"),
        (Subject.LEFT_LEAF, "hinge_side", "left"),
        (Subject.LEFT_LEAF, "action", "push"),
        (Subject.LEFT_LEAF, "weight_source", "label"),
        (Subject.OPENING, "complaint", "slams"),
    )
) + tuple(
    ev.Heard(text="something", meaning=MEANING.dump_python(meaning, mode="json"))
    for meaning in (
        Word(kind="affirm"),
        ReadingsSaid(readings=(ReadingSaid(value=Decimal("6.2")),) * 2),
        Correction(reading=ReadingSaid(value=Decimal("6.2"))),
        Choice(value="left", noun="leaf"),
        FactSaid(subject=Subject.MOTOR_ONE, name="hand", value="left"),
        ReadBack(),
        StartClock(),
        WithdrawRun(value=Decimal(2)),
        GoTo(stage="forces"),
    )
)
PROCEDURE = "controller-replaced-pair"


def lines() -> list[dict[str, Any]]:
    """Returns the lines of a visit with one event of every kind, as data."""
    at, bodies = "2026-03-04T09:15:02.120Z", (*EXAMPLES[:-1], *MORE, EXAMPLES[-1])
    events = [
        json.loads(canonical(ev.Event(seq=n, at=at, body=body, prev=NO_HASH)))
        for n, body in enumerate(bodies, 1)
    ]
    for event in events:
        if event["body"].get("clip_sha256"):
            event["body"]["clip_sha256"] = sha256_of(b"")
        if event["body"]["kind"] == "photo_kept":
            event["body"]["sha256"] = sha256_of(b"")
    return events


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Lists the paths of all values in a line."""
    if path:
        yield path
    if isinstance(value, dict):
        for key in value:
            yield from places(value[key], (*path, key))
    elif isinstance(value, list):
        for nth in range(len(value)):
            yield from places(value[nth], (*path, nth))


def changes(line: dict[str, Any], path: tuple[Any, ...]) -> Iterator[Any]:
    """Lists the changes at that path: another value, KeyError for none, NEWER for an additional
    one.
    """
    yield from (*HOSTILE, KeyError)
    inner: Any = line
    for step in path[:-1]:
        inner = inner[step]
    if isinstance(inner, dict):
        yield NEWER


def changed(line: dict[str, Any], path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    """Returns the line with that change at that path."""
    fresh = copy.deepcopy(line)
    inner: Any = fresh
    for step in path[:-1]:
        inner = inner[step]
    if value is KeyError:
        del inner[path[-1]]
    elif value is NEWER:
        inner["from_a_newer_version"] = 1
    else:
        inner[path[-1]] = value
    return fresh


def write(folder: Path, events: list[dict[str, Any]]) -> None:
    """Writes a journal with correct hashes, whatever it holds."""
    prev, content = NO_HASH, b""
    for event in events:
        if isinstance(event, dict):
            event = {**event, "prev": prev}
        line = json.dumps(event, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        content += line.encode() + b"\n"
        prev = sha256_of(line.encode())
    (folder / reader.CLIPS).mkdir(exist_ok=True, parents=True)
    for name in ("000005.flac", "000042.flac"):
        (folder / reader.CLIPS / name).touch()
    (folder / PICTURES).mkdir(exist_ok=True)
    (folder / PICTURES / "000081.jpg").touch()
    (folder / "journal.torn-1").touch()
    (folder / reader.JOURNAL).write_bytes(content)
    write_head(folder, Head(seq=len(events), sha256=prev))


def readers(language: Language) -> dict[str, Callable[[Path], object]]:
    """Lists every reader of a visit."""

    def resumed(folder: Path) -> object:
        events = reader.read(folder)
        first = events[0].body
        assert isinstance(first, ev.VisitOpened)
        procedure = load_procedure(PROCEDURE, None, "en")
        limits = load_limits("a156.19")
        hashes = {"procedure_sha256": procedure.sha256, "limits_sha256": limits.sha256}
        opened = first.model_copy(update=hashes)
        events = (events[0].model_copy(update={"body": opened}), *events[1:])
        return state_of(events, procedure, limits, language, folder)

    def checked(folder: Path) -> object:
        events = reader.read(folder)
        first = events[0].body
        assert isinstance(first, ev.VisitOpened)
        load_limits(first.sheet.limits)
        return job_of(events)

    return {
        "verify": reader.verify,
        "summary": lambda folder: summary_text(summarize(reader.read(folder))),
        "report": lambda folder: report_html(load_record(folder), NoSound()),
        "record": lambda folder: record_data(load_record(folder)),
        "export": lambda folder: export_json(load_record(folder)) + export_csv(load_record(folder)),
        "pack": pack,
        "check": checked,
        "ledger": read_visit,
        "office": lambda folder: _read(Place("0", folder, "visit", ""), None),
        "resume": resumed,
    }


class Hung(Exception):
    """Reports a reader that took too long."""


def _hung(number: int, frame: FrameType | None) -> None:
    raise Hung


def tamper(folder: Path, share: int = 1) -> tuple[Counter[str], list[str]]:
    """Gives every changed journal (each ``share``-th) to every reader: counts the outcomes, lists
    the crashes.
    """
    signal.signal(signal.SIGALRM, _hung)
    language = Language.load()
    count: Counter[str] = Counter()
    crashes: list[str] = []
    whole = lines()
    readers_of = readers(language)
    cases = [
        (nth, path, value)
        for nth, line in enumerate(whole)
        for path in places(line)
        if path != ("prev",)
        for value in changes(line, path)
    ]
    for nth, path, value in cases[::share]:
        count["changed journals"] += 1
        fresh = changed(whole[nth], path, value)
        write(folder, [*whole[:nth], fresh, *whole[nth + 1 :]])
        refused = False
        for name, read in readers_of.items():
            signal.alarm(LIMIT_S)
            try:
                read(folder)
            except HandsfreeError as error:
                refused = True
                if "\n" in str(error) or len(str(error)) > 1000:
                    crashes.append(f"{name}: {path}: no clear line: {str(error)[:200]!r}")
            except Exception as error:
                last = traceback.extract_tb(error.__traceback__)[-1]
                where = f"{Path(last.filename).name}:{last.lineno}"
                kind = whole[nth]["body"]["kind"]
                crashes.append(f"{name}: {kind} {path}: {type(error).__name__} at {where}")
            finally:
                signal.alarm(0)
        count["refused with a line" if refused else "read"] += 1
    return count, crashes


def byte_for_byte(folder: Path) -> int:
    """Changes every byte of a journal, in turn; returns how many changes were missed."""
    write(folder, lines())
    content = (folder / reader.JOURNAL).read_bytes()
    missed = 0
    for at in range(len(content)):
        other = content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :]
        (folder / reader.JOURNAL).write_bytes(other)
        found = reader.scan_folder(folder)
        missed += found.broken is None and not found.torn
    return missed


def main() -> None:
    """Prints the outcomes; exit code 1 if anything crashed or was not found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--share", type=int, default=1, help="use only every Nth changed journal")
    parser.add_argument("--bytes", action="store_true", help="change every byte as well")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        count, crashes = tamper(Path(folder) / "visit", options.share)
        missed = byte_for_byte(Path(folder) / "visit") if options.bytes else 0
    for kind, number in count.items():
        print(f"{kind}: {number}")
    print(f"crashes: {len(crashes)}, bytes not found: {missed}")
    for crash, number in Counter(crashes).most_common(60):
        print(f"  {number} {crash}")
    if crashes or missed:
        sys.exit(1)


if __name__ == "__main__":
    main()
