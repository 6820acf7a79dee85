"""Writes the text of a new guide with comments, from answers or from a visit's entries."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Sequence

from handsfree.controllers.door_kinds import EXAMPLES
from handsfree.controllers.printed_words import printed_words
from handsfree.job.record import Record
from handsfree.language.interpreter import Language
from handsfree.language.meaning import GoToEntry
from handsfree.language.typed_text import spoken_form, without_accents


class DraftValue(Record):
    """A value, the indication after it, and the conditions of its doors (none: every door)."""

    say: str
    shows: str | None = None
    when: tuple[str, ...] = ()


class DraftEntry(Record):
    """An entry of a draft; without a value it is an action described by ``name``."""

    called: str | None
    name: str
    values: tuple[DraftValue, ...] = ()


class DraftCode(Record):
    """A code of a draft; ``means`` is None if its meaning is unknown."""

    shows: str
    means: str | None = None


class GuideDraft(Record):
    """The known parts of a guide."""

    title: str
    entries: tuple[DraftEntry, ...]
    codes: tuple[DraftCode, ...] = ()
    start: str = ""
    seen: str = ""
    success: str = ""


def asked(ask: Callable[[str], str]) -> GuideDraft:
    """A draft from answers: ``ask`` gets the name of a question; an empty answer ends a list."""
    title = ask("new_title")
    entries: list[DraftEntry] = []
    while name := ask("new_entry"):
        called, values = ask("new_called"), []
        while say := ask("new_value"):
            when = tuple(each.strip() for each in ask("new_when").split(",") if each.strip())
            values.append(DraftValue(say=say, shows=ask("new_shows").upper() or None, when=when))
        entries.append(DraftEntry(called=called or None, name=name, values=tuple(values)))
    start, seen, success = (ask(each) for each in ("new_start", "new_seen", "new_success"))
    codes: list[DraftCode] = []
    while shows := ask("new_code").upper():
        codes.append(DraftCode(shows=shows, means=ask("new_means") or None))
    return GuideDraft(
        title=title, entries=tuple(entries), codes=tuple(codes), start=start, seen=seen,
        success=success,
    )  # fmt: skip


def entry_of(text: str, language: Language) -> DraftEntry:
    """Parses the entry named in a technician's words: 'entry three set to one'."""
    w = language.wording
    printed = printed_words(w.language)
    words = list(spoken_form(text, w))
    between = set(printed["draft_between"].split())
    for many in range(min(4, len(words)), 1, -1):
        called = " ".join(words[:many])
        if isinstance(language.parse(w.say("guide_go_to", called=called)), GoToEntry):
            rest = words[many:]
            while rest and rest[0] in between:
                rest = rest[1:]
            value = _bare(" ".join(rest))
            values = (DraftValue(say=value),) if value else ()
            return DraftEntry(called=called, name=called, values=values)
    return DraftEntry(called=None, name=_bare(" ".join(words)) or printed["draft_nothing"])


def _bare(text: str) -> str:
    """The text reduced to what can be spoken."""
    kept = "".join(each if each.isalpha() or each in " ,'-" else " " for each in text)
    return " ".join(kept.split())


def written(draft: GuideDraft, language: str) -> str:
    """The draft as a TOML file with comments, in a language."""
    words = printed_words(language)
    lines = [f"# {line}" for line in words["draft_head"].split("\n")]
    lines += ["", f"title = {_text(draft.title or words['draft_title'])}"]
    lines += [f"language = {_text(language)}", ""]
    lines += [f"# {words['draft_values']}", f"# {', '.join(EXAMPLES)}"]
    ids: set[str] = set()
    for entry in draft.entries:
        lines += ["", *_entry(entry, ids, words)]
    lines += ["", f"# {words['draft_learn']}", "", "[learn]"]
    lines += [f"start = {_text(draft.start or words['draft_start'])}"]
    lines += [f"seen = {_text(draft.seen or words['draft_seen'])}", "takes_s = 60"]
    lines += [f"success = {{ say = {_text(draft.success or words['draft_success'])} }}"]
    lines += [f"failure = {{ say = {_text(words['draft_failure'])} }}"]
    for code in {each.shows: each for each in draft.codes}.values():
        shown = f"blinks = {_text(code.shows.removesuffix(' blinks'))}"
        shown = shown if code.shows.endswith(" blinks") else f"shows = {_text(code.shows)}"
        lines += ["", "[[code]]", shown, f"means = {_text(code.means or words['draft_unknown'])}"]
        lines += ['comes_up = "learn"', f"remedy = {_text(words['draft_remedy'])}"]
    return "\n".join(lines) + "\n"


def _entry(entry: DraftEntry, ids: set[str], words: dict[str, str]) -> Iterable[str]:
    yield "[[set_up]]"
    yield f"id = {_text(_id(entry.name, ids))}"
    yield f"name = {_text(entry.name)}"
    if entry.called:
        yield f"called = {_text(entry.called)}"
    if entry.values:
        yield "value = ["
        yield from (f"    {{ {_value(value)} }}," for value in entry.values)
        yield "]"
    else:
        yield f"say = {_text(words['draft_do'].format(what=entry.name))}"
    yield f"why = {_text(words['draft_why'])}"


def _value(value: DraftValue) -> str:
    parts = []
    if value.when:
        parts.append(f"when = [{', '.join(map(_text, value.when))}]")
    parts.append(f"say = {_text(value.say)}")
    if value.shows:
        blinks = value.shows.endswith(" blinks")
        shown = value.shows.removesuffix(" blinks")
        parts.append(f"{'blinks' if blinks else 'shows'} = {_text(shown)}")
    return ", ".join(parts)


def _id(name: str, ids: set[str]) -> str:
    """An unused id made of the name: small letters, digits and hyphens."""
    plain = re.sub(r"[^a-z0-9]+", "-", without_accents(name.lower())).strip("-") or "entry"
    nth, found = 1, plain if plain != "learn" else "learning"
    while found in ids:
        nth += 1
        found = f"{plain}-{nth}"
    ids.add(found)
    return found


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def drafted(
    title: str,
    entries: Sequence[DraftEntry],
    codes: Iterable[DraftCode],
) -> GuideDraft:
    """A draft from the entries of a visit: each place once, with its last value."""
    last: dict[str, DraftEntry] = {}
    for entry in entries:
        last[entry.called or entry.name] = entry
    return GuideDraft(title=title, entries=tuple(last.values()), codes=tuple(codes))
