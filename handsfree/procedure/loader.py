"""Loads a procedure with its parts and reports every fault with its line.

docs/procedures.md explains the file's keys.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.job.closed_lists import STAGES
from handsfree.language.wording import ENGLISH
from handsfree.procedure.controller import Controller
from handsfree.procedure.cross_step_checks import cross_step_faults, duplicate_ids
from handsfree.procedure.flow_checks import flow_faults
from handsfree.procedure.group_checks import group_faults
from handsfree.procedure.includes import SHIPPED, ProcedureFile, joined_hash, read_parts
from handsfree.procedure.prompt_lint import unspeakable
from handsfree.procedure.setting_names import fill_setting
from handsfree.procedure.step import Procedure, Stage, Step
from handsfree.procedure.step_checks import step_faults
from handsfree.procedure.step_tables import PlacedStep, stages_of, steps_of, tables
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource, nearest

_HEAD = ("name", "title", "include", "stage", "step")
_PART = ("include", "step")


class _Sound(NamedTuple):
    """The content of a faultless procedure, before the controller's menu is filled into its
    prompts.
    """

    name: str
    title: str
    sha256: str
    stages: tuple[Stage, ...]
    steps: tuple[Step, ...]

    def filled(self, controller: Controller | None, language: str) -> Procedure:
        """The procedure with the controller's menu filled into its prompts."""
        return Procedure(
            name=self.name,
            title=self.title,
            sha256=joined_hash([self.sha256] + ([controller.sha256] if controller else [])),
            stages=self.stages,
            steps=tuple(fill_setting(step, controller, language) for step in self.steps),
            controller=controller,
        )


@cache
def shipped_procedures(language: str = ENGLISH) -> tuple[str, ...]:
    """Names of the procedures that ship with the program in that language."""
    return tuple(sorted(path.stem for path in (SHIPPED / language).glob("*.toml")))


def load_procedure(
    name_or_path: str | Path, controller: Controller | None = None, language: str = ENGLISH
) -> Procedure:
    """Loads the shipped procedure of that name and language, or the one in a file.

    Its prompts name the menu of the ``controller``. The files of a shipped one are read only once.
    Raises ProcedureError if there is no such procedure, at the first fault of its files, or if the
    controller's menu is in another language.
    """
    if controller is not None and controller.language != language:
        raise ProcedureError(
            f"the menu of {controller.title} is written in '{controller.language}',"
            f" and the visit is in '{language}'",
            way_out="copy the controller's file and translate its words",
        )
    name = str(name_or_path)
    known = name in shipped_procedures(language)
    sound = _shipped(name, language) if known else _sound(_own(name_or_path, language), language)
    return sound.filled(controller, language)


def parse_procedure(text: str, file: Path | str, sha256: str, language: str = ENGLISH) -> Procedure:
    """Parses the TOML text of a procedure; ``sha256`` is the hash of the text.

    It includes the shipped parts of its ``language`` and names settings in it. Raises
    ProcedureError at the first fault.
    """
    own = ProcedureFile(TomlSource(text, file, ProcedureError), sha256)
    return _sound(own, language).filled(None, language)


def faults_of(name_or_path: str | Path, language: str = ENGLISH) -> tuple[HandsfreeError, ...]:
    """Lists all faults of a procedure and its parts; empty if there are none.

    The faults come file by file, in the order of their lines. A table that is not a valid stage or
    step reports only its first fault. Raises ProcedureError if there is no such file or it is not
    TOML.
    """
    found = _read(_own(name_or_path, language), language)
    return () if isinstance(found, _Sound) else found


def shipped_title(name: str, language: str = ENGLISH) -> str:
    """The title of a shipped procedure, without reading its parts."""
    title: str = _own(name, language).source.data["title"]
    return title


@cache
def _shipped(name: str, language: str) -> _Sound:
    return _sound(_own(name, language), language)


def _sound(own: ProcedureFile, language: str) -> _Sound:
    found = _read(own, language)
    if isinstance(found, _Sound):
        return found
    raise found[0]


def _own(name_or_path: str | Path, language: str) -> ProcedureFile:
    """Reads a procedure's own file."""
    path = Path(name_or_path)
    known = shipped_procedures(language)
    if str(name_or_path) in known:
        path = SHIPPED / language / f"{name_or_path}.toml"
    ship = (
        f"one of: {', '.join(known)}" if known else f"write one: no procedure ships in '{language}'"
    )
    content, text = read_text(path, ProcedureError, f"name a file or {ship}")
    return ProcedureFile(
        TomlSource(text, path, ProcedureError), hashlib.sha256(content).hexdigest()
    )


def _read(own: ProcedureFile, language: str) -> _Sound | tuple[HandsfreeError, ...]:
    parts = read_parts(own, language)
    main = own.source
    sources = [part.source for part in parts.files]
    faults = [*parts.faults, *_head_faults(main)]
    for source in sources:
        if source is not main:
            faults += _part_faults(source, own.path.name)
    stages = stages_of(main, faults)
    faults += _stage_faults(main, stages)
    listed = [str(raw.get("id")) for _, raw in tables(main, "stage")]
    placed: list[PlacedStep] = []
    for source in sources:
        placed += steps_of(source, faults)
    faults += duplicate_ids([main], "stage")
    faults += duplicate_ids(sources, "step")
    for place in placed:
        faults += step_faults(place, listed, own.path.name)
    placed.sort(key=lambda place: _rank(place, listed))
    faults += cross_step_faults(placed)
    faults += group_faults(placed)
    if not faults:
        faults += flow_faults(placed)
    if not placed and not faults:
        faults.append(
            main.fault("has no [[step]]", way_out="each step begins with a line [[step]]")
        )
    if faults:
        files = [own.path, *(part.path for part in parts.files)]
        return tuple(sorted(faults, key=lambda fault: _place_of(fault, files)))
    return _Sound(
        name=main.data["name"],
        title=main.data["title"],
        sha256=parts.sha256,
        stages=tuple(stages.values()),
        steps=tuple(place.step for place in placed),
    )


def _rank(place: PlacedStep, listed: list[str]) -> int:
    """Orders steps stage by stage; a step without a known stage goes last."""
    stage = place.step.stage
    return listed.index(stage) if stage in listed else len(listed)


def _place_of(fault: HandsfreeError, files: list[Path]) -> tuple[int, int]:
    nth = files.index(fault.file) if fault.file in files else len(files)
    return nth, fault.line or 0


def _head_faults(source: TomlSource) -> Iterator[HandsfreeError]:
    unknown = [key for key in source.data if key not in _HEAD]
    for key in unknown:
        yield source.fault(f"unknown key '{key}'", key=key, way_out=nearest(key, _HEAD))
    # A missing key may be present but misspelled.
    for key in ("name", "title"):
        value = source.data.get(key)
        if not isinstance(value, str) and not unknown:
            yield source.fault(f"'{key}' is missing", way_out=f'begin the file with {key} = "..."')
        elif key == "title" and isinstance(value, str):
            yield from unspeakable(source, "", 0, "title", value)


def _part_faults(source: TomlSource, procedure: str) -> Iterator[HandsfreeError]:
    for key in source.data:
        if key not in _PART:
            yield source.fault(
                f"'{key}' is not allowed in a part",
                key,
                key=key,
                way_out=f"a part has [[step]] and include, the rest belongs in {procedure}",
            )


def _stage_faults(source: TomlSource, stages: dict[int, Stage]) -> Iterator[HandsfreeError]:
    for nth, stage in stages.items():
        yield from unspeakable(source, "stage", nth, "title", stage.title)
        if stage.id not in STAGES:
            yield source.fault(
                f"unknown stage '{stage.id}': nobody could say its name",
                "stage", nth, "id", nearest(stage.id, STAGES),
            )  # fmt: skip
