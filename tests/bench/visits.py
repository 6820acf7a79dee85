"""Runs whole visits by a simulated technician on simulated doors, by text and by sound.

    python -m tests.bench.visits --text 300 --json visits-text.json
    python -m tests.bench.visits --sound 60 --level 15 --json visits-15.json
    python -m tests.bench.visits --sound 20 --level 5 --json visits-5.json
    python -m tests.bench.visits --sound 100 --level 15 --voices natural --every --processes 8
    python -m tests.bench.visits --show visits-text.json visits-15.json visits-5.json

Every visit has its own door, settings and faults, drawn by its number. Visits by sound use held-out
voices, and real recordings of noise (the folder of --data or HANDSFREE_SPEECH_DATA, with its
manifest.csv; without it a synthetic ventilation noise). ``--voices development`` uses the voice
that choices are made on, ``--voices natural`` the four held-out natural voices (HANDSFREE_VOICES,
docs/rehearsal.md). ``--every`` draws from every shipped procedure, including the daily check and
the double-egress pair. ``--processes`` visits run at the same time; set OMP_THREAD_LIMIT=1, or the
threads of the voice activity detection wait for each other. Each visit is written to the JSON as
soon as it is over, so the results of an interrupted run are kept.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binomtest

from handsfree.audio.sound_files import read_sound
from handsfree.job.opening import Swing
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.language.interpreter import Language
from handsfree.rehearsal.acoustic_ears import AcousticEars
from handsfree.rehearsal.door_file import load_door, shipped_doors
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.faults import add_fault, make_fault, possible
from handsfree.rehearsal.operator import SettingName
from handsfree.rehearsal.outcome import Outcome, outcome_of
from handsfree.rehearsal.rehearsal import Rehearsal
from handsfree.rehearsal.room_acoustics import Room
from handsfree.rehearsal.simulated_ears import SimulatedClock
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.synthetic_voices import VOICES as ALL_VOICES
from handsfree.rehearsal.synthetic_voices import SyntheticVoices, why_missing
from handsfree.rehearsal.technician_profile import HUMAN

from .circumstances import circumstances
from .listening_material import VOICES as ROBOTS

VOICES = {
    "held-out": ROBOTS["held-out"],
    "development": ROBOTS["development"],
    "natural": tuple(name for name in ALL_VOICES if name.startswith("natural:")),
}
STRANGER = "flite:awb"
DATA = Path(os.environ.get("HANDSFREE_SPEECH_DATA", Path(__file__).parents[3] / "shared/speech"))
TURNS: tuple[tuple[SettingName, int], ...] = (
    ("opening_speed", 3),
    ("backcheck_speed", 3),
    ("closing_speed", 3),
    ("latching_speed", 2),
    ("hold_open_setting", 3),
)
PAIR = ("controller-replaced-pair", "yearly-service", "new-installation", "complaint")
SINGLE = ("controller-replaced-single", *PAIR[1:])


def drawn_door(number: int, *, every: bool = False) -> tuple[DoorSpec, str]:
    """Draws the door of a visit, and its procedure: a shipped door with other settings and 0 to 2
    faults.

    With ``every`` the procedure is drawn from all that ship for such a door; for the double-egress
    pair one leaf of a shipped pair is turned around.
    """
    rng = Random(f"visit {number}")
    spec = load_door(rng.choice(shipped_doors()))
    leaves = {}
    for side, leaf in spec.leaves.items():
        settings = dict(leaf.settings)
        for name, most in TURNS:
            settings[name] = spec.operator.in_scale(name, settings[name] + rng.randint(-most, most))
        leaves[side] = leaf.model_copy(update={"settings": settings})
    spec = spec.model_copy(update={"leaves": leaves})
    for _ in range(rng.choice((0, 1, 1, 1, 2))):
        name = rng.choice([n for n in possible(spec) if n not in {f.name for f in spec.faults}])
        spec = add_fault(spec, make_fault(spec, name, rng))
    procedure = rng.choice(SINGLE if len(spec.leaves) == 1 else PAIR)
    # Only a new controller is installed by tracing its motors; later nobody would find a swap.
    unseen = {"motors swapped", "wrong hand"}
    if procedure in ("yearly-service", "complaint") and unseen & {f.name for f in spec.faults}:
        procedure = (SINGLE if len(spec.leaves) == 1 else PAIR)[0]
    if every:
        also = ("daily-check",) if len(spec.leaves) == 1 else ("daily-check", "double-egress")
        share = Random(f"every {number}").random() * (len(PAIR) + len(also)) - len(PAIR)
        # The daily check gets only faults that it looks for; others would stay unfound.
        if share >= 0 and not (unseen | {"pushes too hard"}) & {f.name for f in spec.faults}:
            procedure = also[int(share)]
        if procedure == "double-egress":
            spec = _double_egress(spec)
    return spec, procedure


def _double_egress(spec: DoorSpec) -> DoorSpec:
    """Returns a pair of the same kind, one leaf of which opens toward the side from which it is
    seen.
    """
    turned, *_ = spec.leaves
    leaf = spec.leaves[turned]
    other = "pull" if leaf.action == "push" else "push"
    leaves = {**spec.leaves, turned: leaf.model_copy(update={"action": other})}
    return spec.model_copy(update={"swing": Swing.DOUBLE_EGRESS, "leaves": leaves})


def by_text(number: int, language: Language, *, every: bool = False) -> dict[str, object]:
    spec, procedure = drawn_door(number, every=every)
    rehearsal = Rehearsal(spec, seed=number, procedure=procedure, manner=HUMAN, language=language)
    return _run(rehearsal, number, procedure, "text", "")


class BySound:
    """Runs visits by sound; the tool's ears are opened once, and each visit gets a voice and a
    noise.
    """

    def __init__(
        self,
        language: Language,
        level_db: float | None,
        echo_s: float,
        role: str = "held-out",
        *,
        every: bool = False,
        kept: Path | None = None,
    ) -> None:
        from handsfree.recognition.constrained_retry import ConstrainedRetry
        from handsfree.recognition.cycle_listener import mark_recognizer
        from handsfree.recognition.recognizer import VoskRecognizer
        from handsfree.recognition.speech_model import SpeechModel

        model = SpeechModel.load()
        self._language, self._level_db, self._echo_s = language, level_db, echo_s
        self._every, self._kept = every, kept
        self._recognizer = VoskRecognizer(model, language.automaton(), language.parse)
        self._clock = (
            mark_recognizer(model, language.automaton("mark"), language.mark),
            language.mark,
        )
        self._hears_again = ConstrainedRetry(language)
        self._model = f"{model.name} {model.sha256[:12]}"
        self._voices = SyntheticVoices()
        self._voice_names = [v for v in VOICES[role] if why_missing(v) is None]
        self._noises = noises()
        for voice in set(VOICES[role]) - set(self._voice_names):
            print(f"left out: {voice}: {why_missing(voice)}")
        if not self._noises:
            print(f"no recordings in {DATA}: the noise is synthetic")

    def visit(self, number: int) -> dict[str, object]:
        spec, procedure = drawn_door(number, every=self._every)
        voice = self._voice_names[number % len(self._voice_names)]
        # Every voice meets every noise.
        nth = number // len(self._voice_names)
        name, noise = self._noises[nth % len(self._noises)] if self._noises else ("synthetic", None)
        room = Room(
            snr_db=self._level_db,
            noise=noise,
            echo_s=self._echo_s,
            seed=number,
        )
        ears: list[AcousticEars] = []

        def ears_of(technician: Technician, clock: SimulatedClock) -> AcousticEars:
            ears.append(
                AcousticEars(
                    *(technician, clock, self._recognizer, self._clock),
                    *(room, self._voices, voice, STRANGER),
                )
            )
            return ears[0]

        rehearsal = Rehearsal(
            spec,
            seed=number,
            procedure=procedure,
            manner=HUMAN,
            language=self._language,
            ears_of=ears_of,
            retry=self._hears_again,
            ears_name="rehearsal, by sound",
            model=self._model,
        )
        level = "quiet" if self._level_db is None else f"{self._level_db:g} dB"
        row = _run(rehearsal, number, procedure, level, voice, self._kept)
        row |= {"sound_s": round(ears[0].sound_s), "not_noticed": ears[0].not_noticed}
        row["noise"] = name
        return row


_OPENED: list[BySound] = []
"""The ears of this process, opened once."""


def _open(chosen: argparse.Namespace) -> None:
    _OPENED.append(
        BySound(
            *(Language.load(), chosen.level, chosen.echo, chosen.voices),
            every=chosen.every,
            kept=chosen.talk,
        )
    )


def _visit(number: int) -> dict[str, object]:
    return _OPENED[-1].visit(number)


def by_sound(chosen: argparse.Namespace) -> Iterator[dict[str, object]]:
    """Yields the visits as they end, ``chosen.processes`` at the same time."""
    numbers = range(chosen.first, chosen.first + chosen.sound)
    if chosen.processes == 1:
        _open(chosen)
        yield from map(_visit, numbers)
        return
    with ProcessPoolExecutor(chosen.processes, initializer=_open, initargs=(chosen,)) as pool:
        for done in as_completed([pool.submit(_visit, number) for number in numbers]):
            yield done.result()


def noises() -> list[tuple[str, NDArray[np.float64]]]:
    """Returns the available real noises, by name."""
    manifest = DATA / "manifest.csv"
    if not manifest.is_file():
        return []
    with manifest.open(encoding="utf-8") as file:
        paths = [DATA / row["path"] for row in csv.DictReader(file) if row["kind"] == "noise"]
    return [(path.stem.rpartition("__")[2], read_sound(path).astype(np.float64)) for path in paths]


def _run(
    rehearsal: Rehearsal,
    number: int,
    procedure: str,
    level: str,
    voice: str,
    kept: Path | None = None,
) -> dict[str, object]:
    begun, processor = time.monotonic(), time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        visit = Path(folder) / "visit"
        progress = rehearsal.run(visit)
        ending = outcome_of(rehearsal, progress, read(visit))
        if kept is not None:
            _keep_talk(kept / f"{number}.txt", rehearsal, read(visit))
    return {
        "number": number,
        "door": rehearsal.door.spec.title,
        "procedure": procedure,
        "level": level,
        "voice": voice,
        "wall_s": round(time.monotonic() - begun, 1),
        "processor_s": round(time.process_time() - processor, 1),
        **ending.model_dump(mode="json"),
    }


def _keep_talk(path: Path, rehearsal: Rehearsal, events: tuple[ev.Event, ...]) -> None:
    """Writes what the tool said and heard, what counted, and what the technician said."""
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [f"{line.who}: {line.text}" for line in rehearsal.technician.lines]
    for event in events:
        match event.body:
            case ev.Said(text=text, role=role):
                lines.append(f"    {role}: {text}")
            case ev.Heard(text=text, meaning=meaning):
                lines.append(f"  heard: {text} = {meaning}")
            case ev.Judged():
                pass
            case body:
                lines.append(f"        {body.model_dump_json(exclude_defaults=True)[:300]}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


# --- what is shown


def share(hits: int, count: int) -> dict[str, object]:
    """Returns a share with its exact 95 % interval (Clopper and Pearson)."""
    if not count:
        return {"hits": hits, "count": 0, "share": None, "interval": [0.0, 1.0]}
    interval = binomtest(hits, count).proportion_ci(method="exact")
    return {
        "hits": hits,
        "count": count,
        "share": round(hits / count, 5),
        "interval": [round(float(interval.low), 5), round(float(interval.high), 5)],
    }


def summed(rows: list[dict]) -> dict[str, object]:
    """Adds up the results of many visits."""
    endings = [
        Outcome.model_validate({k: row[k] for k in Outcome.model_fields if k in row})
        for row in rows
    ]
    readings = sum(e.readings for e in endings)
    found = sum(len(e.faults_found) for e in endings)
    faults = found + sum(len(e.faults_missed) for e in endings)
    judged = {
        held: sum(e.held(held) for e in endings)
        for held in ("right", "wrong", "undecided", "in the band")
    }
    outside = judged["right"] + judged["wrong"] + judged["undecided"]
    to_tool = sum(e.said_to_tool for e in endings)
    repairs = sum(e.repairs for e in endings)
    return {
        "visits": len(rows),
        "completed": share(sum(e.closed for e in endings), len(rows)),
        "wrong_values": share(sum(len(e.wrong) for e in endings), readings),
        "ever_wrong": sum(e.ever_wrong for e in endings),
        "faults_found": share(found, faults),
        "verdicts_right": share(judged["right"], outside),
        "verdicts": judged,
        "over_peak": sum(len(e.over_peak) for e in endings),
        "repairs": share(repairs, to_tool),
        "utterances_a_repair": round(to_tool / repairs, 1) if repairs else None,
        "utterances_a_visit": round(sum(e.utterances for e in endings) / len(rows), 1),
        "minutes_a_visit": round(sum(e.minutes for e in endings) / len(rows), 1),
        "slips": sum(e.slips for e in endings),
        "told_of_noise": share(sum(e.hears_badly > 0 for e in endings), len(rows)),
        "skipped": sum(e.skipped for e in endings),
        "answers_wrong": share(
            sum(len(e.answers_wrong) for e in endings), sum(e.answers for e in endings)
        ),
        "taken_back": sum(e.taken_back for e in endings),
        "implicit": sum(e.implicit for e in endings),
        "explicit": sum(e.explicit for e in endings),
        "turned_explicit": sum(e.turned_explicit > 0 for e in endings),
        "faster_than_real": round(
            sum(60 * e.minutes for e in endings) / max(0.1, sum(row["wall_s"] for row in rows)), 1
        ),
    }


def table(groups: dict[str, dict[str, object]]) -> str:
    """The groups as a markdown table."""
    lines = [
        "| visits | completed | readings, wrong | other answers, wrong | taken back "
        "| turned explicit | faults found | verdicts right, wrong, undecided "
        "| repairs, one in | told of noise | utterances, minutes a visit | times real |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name, s in groups.items():
        wrong, judged, other = s["wrong_values"], s["verdicts"], s["answers_wrong"]
        lines.append(
            f"| {name} ({s['visits']}) | {_percent(s['completed'])} "
            f"| {wrong['count']}, {wrong['hits']} (<{100 * wrong['interval'][1]:.2f} %) "
            f"| {other['count']}, {other['hits']} (<{100 * other['interval'][1]:.2f} %) "
            f"| {s['taken_back']} | {s['turned_explicit']} "
            f"| {s['faults_found']['hits']} of {s['faults_found']['count']} "
            f"| {judged['right']}, {judged['wrong']}, {judged['undecided']} "
            f"| {s['repairs']['hits']}, {s['utterances_a_repair']} "
            f"| {s['told_of_noise']['hits']} | {s['utterances_a_visit']:.0f}, "
            f"{s['minutes_a_visit']:.0f} | {s['faster_than_real']:.0f} |"
        )
    return "\n".join(lines)


def _percent(s: dict) -> str:
    low, high = s["interval"]
    return f"{100 * s['share']:.0f} % [{100 * low:.0f}-{100 * high:.0f}]"


def grouped(rows: list[dict], key: Callable[[dict], str]) -> dict[str, dict[str, object]]:
    """Groups the rows by ``key`` and adds up each group."""
    found: dict[str, list[dict]] = defaultdict(list)
    for row in rows:
        found[key(row)].append(row)
    return {name: summed(of) for name, of in sorted(found.items())}


def show(rows: list[dict]) -> None:
    """The tables of these visits."""
    print(table(grouped(rows, lambda row: row["level"])))
    if any(row["voice"] for row in rows):
        said = [row for row in rows if row["voice"]]
        print("\nby voice\n\n" + table(grouped(said, lambda r: f"{r['level']}, {r['voice']}")))
        print("\nby noise\n\n" + table(grouped(said, lambda r: f"{r['level']}, {r['noise']}")))
    print("\nby procedure\n\n" + table(grouped(rows, lambda r: f"{r['level']}, {r['procedure']}")))
    for voice in sorted({row["voice"] for row in rows if row["voice"]}):
        said = Counter(text for r in rows if r["voice"] == voice for text in r.get("again", ()))
        most = ", ".join(f"{text} {count}" for text, count in said.most_common(8))
        print(f"said again by {voice}: {most or 'not kept'}")
    for row in rows:
        held = [
            f"{o['subject']} {o['rule']} {o['verdict']}: {o['truth']:.2f}, limit {o['limit']:g}"
            for o in row["judged"]
            if o["held"] in ("wrong", "undecided")
        ]
        bad = (row["wrong"], row.get("answers_wrong"), row["faults_missed"])
        if not row["closed"] or any(bad) or held:
            print(
                f"visit {row['number']} ({row['level']} {row['voice']}, {row['door']}, "
                f"{row['procedure']}): closed {row['closed']}, wrong {row['wrong']}, "
                f"answers wrong {row.get('answers_wrong')}, missed {row['faults_missed']}, "
                f"verdicts {held}"
            )


def keep(path: Path | None, rows: list[dict], arguments: dict[str, object]) -> None:
    """Writes all results so far, with their sums, for comparison between versions."""
    if path is None or not rows:
        return
    sums = grouped(rows, lambda row: row["level"])
    text = json.dumps(
        {"circumstances": circumstances(), "arguments": arguments, "sums": sums, "visits": rows},
        indent=1,
        default=str,
    )
    path.write_text(text + "\n", encoding="utf-8")


def main(given: Iterable[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--text", type=int, default=0, help="visits by text")
    parser.add_argument("--sound", type=int, default=0, help="visits by sound")
    parser.add_argument(
        "--level", type=float, help="level of the voice above the noise in dB; quiet by default"
    )
    parser.add_argument("--echo", type=float, default=0.0, help="reverberation time in s")
    parser.add_argument("--voices", default="held-out", choices=tuple(VOICES))
    parser.add_argument("--every", action="store_true", help="every shipped procedure")
    parser.add_argument("--processes", type=int, default=1, help="visits at the same time")
    parser.add_argument("--first", type=int, default=1, help="number of the first visit")
    parser.add_argument("--json", type=Path, help="file for the results")
    parser.add_argument("--talk", type=Path, help="folder for the talk of each visit by sound")
    parser.add_argument("--show", type=Path, nargs="*", help="only show these results together")
    chosen = parser.parse_args(given)
    if chosen.show:
        found = [row for path in chosen.show for row in json.loads(path.read_text())["visits"]]
        show(found)
        return
    language = Language.load()
    rows: list[dict] = []
    arguments = {k: str(v) for k, v in vars(chosen).items()}
    for number in range(chosen.first, chosen.first + chosen.text):
        rows.append(by_text(number, language, every=chosen.every))
        if number % 20 == 0:
            keep(chosen.json, rows, arguments)
    for last in by_sound(chosen) if chosen.sound else ():
        rows.append(last)
        keep(chosen.json, rows, arguments)
        print(
            f"{last['number']}: {last['voice']} {last['noise']} {last['procedure']} "
            f"closed {last['closed']} readings {last['readings']} wrong {last['wrong']} "
            f"answers {last['answers']} wrong {last['answers_wrong']} repairs {last['repairs']} of "
            f"{last['said_to_tool']} in {last['wall_s']} s",
            flush=True,
        )
    keep(chosen.json, rows, arguments)
    show(rows)


if __name__ == "__main__":
    main()
