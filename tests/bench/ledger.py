"""Measures the speed of the ledger: adding visits, and every question on a million readings.

    python -m tests.bench.ledger in           # visits a second, from folders and from dossiers
    python -m tests.bench.ledger questions    # questions on a million readings

Both are measured on SQLite and on a separate PostgreSQL server. The million rows are invented.
"""

from __future__ import annotations

import hashlib
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy import insert

from handsfree.ledger import queries
from handsfree.ledger import tables as t
from handsfree.ledger.database import Ledger, open_ledger
from handsfree.ledger.load import TOGETHER, add
from handsfree.ledger.read_visits import ReadVisit, read_visit
from handsfree.ledger.upsert import upsert
from handsfree.ledger.visit_rows import folded, opening_key

from ..ledger.conftest import running_server
from ..ledger.visits import BEGAN, FAILING, IN_ORDER, small_visit

READINGS, A_VISIT, VISITS_TO_ONE = 1_000_000, 30, 8
TODAY = date(2100, 6, 1)
NAMES = (
    *("harbour", "station", "library", "clinic", "college", "market"),
    *("museum", "garden", "tower", "mill", "bridge", "park"),
)
WORDS = (
    *("pivot", "arm", "washer", "loose", "strike", "closer", "sign", "plate"),
    *("wire", "cover", "screw", "noise", "lamp", "key", "mat"),
)
QUANTITIES = (
    *("opening_time", "total_opening_time", "closing_time", "latching_time", "opening_force"),
    *("closing_force", "backcheck_angle", "leaf_width", "leaf_height", "leaf_weight"),
)


@contextmanager
def ledgers(folder: Path) -> Iterator[list[tuple[str, Ledger]]]:
    with running_server() as server:
        with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
            connection.execute("CREATE DATABASE ledger")
        urls = {"SQLite": f"sqlite:///{folder / 'l.sqlite'}", "PostgreSQL": f"{server}/ledger"}
        yield [(name, open_ledger(url)) for name, url in urls.items()]


def visits_in(count: int = 1000) -> None:
    """Adds visits like those of the tests, with thirty readings each."""
    many = tuple((f, v) for n in range(5) for f, v in (*IN_ORDER, *FAILING))
    with tempfile.TemporaryDirectory() as place:
        folders = [
            small_visit(
                Path(place) / "visits" / f"v{nth:04}",
                name=f"door {nth % 150}",
                began=BEGAN + timedelta(hours=nth),
                readings=many,
            )
            for nth in range(count)
        ]
        began = time.perf_counter()
        taken = [each for each in map(read_visit, folders[:300]) if isinstance(each, ReadVisit)]
        print(
            f"journals read, verified and judged by one core: {_rate(len(taken), began)} a second"
        )
        assert len(taken) == 300
        with ledgers(Path(place)) as opened:
            for name, ledger in opened:
                began, busy = time.perf_counter(), time.process_time()
                for start in range(0, len(taken), TOGETHER):
                    with ledger.transaction() as connection:
                        upsert(connection, taken[start : start + TOGETHER])
                rate = _rate(len(taken), began)
                busy_ms = 1000 * (time.process_time() - busy) / len(taken)
                print(f"{name}: rows of {rate} visits a second in; {busy_ms:.1f} ms of a core each")
        with ledgers(Path(place) / "visits") as opened:
            for name, ledger in opened:
                began = time.perf_counter()
                came = [each.came for each in add(ledger, [Path(place) / "visits"])]
                assert came == ["added"] * count
                print(f"{name}: {_rate(count, began)} visits a second from their folders")


def _rate(count: int, began: float) -> str:
    return f"{count / (time.perf_counter() - began):.0f}"


def questions() -> None:
    with tempfile.TemporaryDirectory() as place, ledgers(Path(place)) as opened:
        for name, ledger in opened:
            began = time.perf_counter()
            _fill(ledger)
            print(f"{name}: {READINGS} readings made in {time.perf_counter() - began:.0f} s")
            for what, question in _questions(ledger).items():
                question()  # the server reads its pages once
                times = []
                for _ in range(15):
                    began = time.perf_counter()
                    found = question()
                    times.append(1000 * (time.perf_counter() - began))
                print(
                    f"  {what:<44}{len(found):>5} rows  median {statistics.median(times):6.1f} ms"
                    f"  slowest {max(times):6.1f} ms"
                )


def _questions(ledger: Ledger) -> dict[str, Callable[[], list[Any]]]:
    return {
        "due within 30 days": lambda: queries.due(ledger, TODAY, 30),
        "due ever, 1000 lines": lambda: queries.due(ledger, TODAY, 10**6, 1000),
        "failing": lambda: queries.failing(ledger),
        "failing, 1000 lines": lambda: queries.failing(ledger, 1000),
        "history of an opening": lambda: queries.history(ledger, "harbour 7 door 3", most=1000),
        "history of one quantity": lambda: queries.history(
            ledger, "mill 9 door 1", "closing_force"
        ),
        "search a common word": lambda: queries.search(ledger, "pivot"),
        "search two words, rare together": lambda: queries.search(ledger, "almeda washer 17 mill"),
        "search what is nowhere": lambda: queries.search(ledger, "zeppelin"),
    }


def _fill(ledger: Ledger) -> None:
    rng = random.Random(417)
    count = READINGS // A_VISIT
    openings = [
        (f"{NAMES[n % 12].title()} {n // 48}", f"door {n // 12 % 4}")
        for n in range(count // VISITS_TO_ONE)
    ]
    first = datetime(2092, 1, 1, tzinfo=UTC)
    rows: dict[str, list[dict[str, Any]]] = {table.name: [] for table in t.metadata.sorted_tables}
    for nth, (site, name) in enumerate(openings):
        key = opening_key(site, name)
        visits = []
        for visit in range(VISITS_TO_ONE):
            at = first + timedelta(days=365 * visit + rng.randrange(365), minutes=nth % 1440)
            visit_id = hashlib.sha256(f"{nth} {visit}".encode()).hexdigest()
            visits.append((at, visit_id))
            _visit(rows, rng, visit_id, key, site, name, at, newest=visit == VISITS_TO_ONE - 1)
        at, visit_id = visits[-1]
        due = (at + timedelta(days=365)).date().isoformat()
        rows["openings"].append(
            {"id": key, "site": site, "name": name, "folded": folded(f"{site}\n{name}")}
            | {"rehearsal": False}
            | {"last_visit": visit_id, "due": due}
        )
    with ledger.transaction() as connection:
        for table in t.metadata.sorted_tables:
            held = rows[table.name]
            for at_row in range(0, len(held), 20_000):
                connection.execute(insert(table), held[at_row : at_row + 20_000])
    if ledger.name.startswith("postgresql"):  # as its own housekeeping does in time
        with ledger.transaction() as connection:
            connection.exec_driver_sql("ANALYZE")


def _visit(
    rows: dict[str, list[dict[str, Any]]],
    rng: random.Random,
    visit_id: str,
    key: str,
    site: str,
    name: str,
    at: datetime,
    *,
    newest: bool,
) -> None:
    wrong = rng.random() < 0.12
    iso_time = at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    technician = rng.choice(("R. Almeda", "J. Lind", "A. Okoro", "T. Berg"))
    reference = f"V-{len(rows['visits'])}"
    notes = " ".join(rng.choices(WORDS, k=rng.choice((0, 0, 12, 40))))
    rows["visits"].append(
        {"id": visit_id, "opening_id": key, "reference": reference, "technician": technician}
        | {"procedure": "yearly-service", "limits": "a156.19", "began": iso_time, "ended": iso_time}
        | {"complete": True, "verdict": "Every reading that was judged is within its limit."}
        | {
            "wrong": int(wrong),
            "close": 0,
            "failing": wrong,
            "newest": newest,
            "signed": True,
            "rehearsal": False,
            "due": None,
        }
        | {"words": folded(f"{site}\n{name}\n{reference}\n{technician}\n\n{notes}")}
    )
    rows["journals"].append(
        {"visit_id": visit_id, "head": visit_id, "lines": 400, "folder": f"/visits/{reference}"}
    )
    for nth in range(1, A_VISIT + 1):
        value = f"{rng.uniform(2, 20):.2f}"
        what = QUANTITIES[nth % len(QUANTITIES)]
        rows["readings"].append(
            {"visit_id": visit_id, "nth": nth, "reading_id": f"r{nth}", "subject": "left leaf"}
            | {"quantity": what, "value": value, "unit": "s", "base": float(value)}
            | {"taken": "said", "attempt": 1, "run": 1, "place": "as found and as left"}
            | {"gone": None, "accepted": f"{value} s", "verdict": "pass"}
        )
        if nth % 2:
            rows["findings"].append(
                {"visit_id": visit_id, "nth": nth, "reading": nth, "subject": "left leaf"}
                | {"quantity": what, "rule": what, "verdict": "pass", "binding": "requirement"}
                | {"value": value, "bound": "at least", "limit": "3.5", "unit": "s"}
                | {"source": "a156.19; 4.1"}
            )
    if wrong:
        rows["open_items"].append(
            {"visit_id": visit_id, "nth": 1, "key": "left leaf/closing_force", "word": None}
            | {"kind": "not OK", "what": "left leaf: closing force 17 lbf, at most 15 lbf"}
            | {"decision": None}
        )


if __name__ == "__main__":
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    {"in": visits_in, "questions": questions}[sys.argv[1]]()
    print(f"load of the machine: {os.getloadavg()[0]:.1f}")
