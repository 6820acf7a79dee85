"""The rules of style that a test can check: docstrings, and the table of modules.

Each rule is a function of one docstring, so that a mutation can show that it works.
"""

from __future__ import annotations

import ast
import re
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.module_table import (
    BEGIN,
    PACKAGE,
    PAGE,
    first_sentence,
    modules_of,
    named_in,
    table_in,
    table_of,
)

CODE = "`'\"[(<"
"""Characters that begin a code sample or an example instead of a sentence."""
DANGLING = (
    *("So", "None", "What", "Whether", "Where", "When", "Which", "Who", "How", "Why", "Of", "As"),
    *("Beside", "It", "They", "He", "His", "She"),
)
"""First words of a docstring that only makes sense next to its code, or is half a sentence."""
TRANSLATED = re.compile(
    r"\b(anew|whoever|for ever|gone on|is told|are told|so (?:much|many|long) (?:a|the|of)?)\b"
    r"|(?<![`-])\bbeside\b"
    r"|\b(?:goes on|go on|at hand(?!-)|under way|any more(?! than)|in vain|as it stands)\b"
    r"|\b(?:came|comes|becomes) of\b|\bis whether\b|\bwants?\b|\bwhere (?:there is|nobody)\b"
    r"|\b(?:a life hangs|words? of assent|runs? of the clock|filled in on paper|known of)\b"
    r"|(?<!there )\bis no (?!longer|such)",
    re.IGNORECASE,
)
"""Turns of phrase that a native writer would not use in a docstring."""
Rule = Callable[[str], bool]


class Docstring(NamedTuple):
    """A public docstring and its place."""

    room: str
    place: str
    text: str


def begins_like_a_sentence(text: str) -> bool:
    """A capital letter, a digit with its unit, or a code sample begins the docstring."""
    return text[:1].isupper() or text[:1] in CODE


def stands_alone(text: str) -> bool:
    """The first word does not depend on the code below it."""
    return text.split(maxsplit=1)[0].strip(",.;:") not in DANGLING


def ends_its_sentence(text: str) -> bool:
    """The first paragraph ends with punctuation."""
    return text.split("\n\n")[0].rstrip().endswith((".", "?", "!", ":", ")"))


def reads_as_written_here(text: str) -> bool:
    """No turn of phrase gives a translation away."""
    return TRANSLATED.search(text) is None


RULES: tuple[Rule, ...] = (
    begins_like_a_sentence,
    stands_alone,
    ends_its_sentence,
    reads_as_written_here,
)


def docstrings_in(package: Path) -> Iterator[Docstring]:
    """Every docstring of a public module, class, function or constant."""
    for path in sorted(package.rglob("*.py")):
        relative = path.relative_to(package)
        room = relative.parts[0] if len(relative.parts) > 1 else "."
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for line, text in _docstrings_of(tree):
            yield Docstring(room, f"{relative.as_posix()}:{line}", text)


def _docstrings_of(node: ast.Module | ast.ClassDef | ast.FunctionDef) -> Iterator[tuple[int, str]]:
    if (own := ast.get_docstring(node)) is not None:
        yield node.body[0].lineno, own
    before: ast.stmt | None = None
    for child in node.body:
        if isinstance(child, ast.ClassDef | ast.FunctionDef) and not child.name.startswith("_"):
            yield from _docstrings_of(child)
        match before, child:
            case ast.Assign() | ast.AnnAssign(), ast.Expr(value=ast.Constant(value=str(text))):
                if not _first_name(before).startswith("_"):
                    yield child.lineno, text
        before = child


def _first_name(assignment: ast.stmt) -> str:
    return next((n.id for n in ast.walk(assignment) if isinstance(n, ast.Name)), "")


@cache
def complaints(package: Path) -> list[tuple[str, str]]:
    """Room and message of every docstring that breaks a rule."""
    return [
        (found.room, f"{found.place}: not {rule.__name__}: {found.text.splitlines()[0]}")
        for found in docstrings_in(package)
        for rule in RULES
        if not rule(found.text)
    ]


def test_every_public_docstring_follows_the_rules():
    found = [message for _, message in complaints(PACKAGE)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("rule", "bad"),
    [
        (begins_like_a_sentence, "the last sample."),
        (begins_like_a_sentence, "journal.head: how far the journal came."),
        (stands_alone, "So long the room still sounds of the mouth after it has ended."),
        (stands_alone, "None for a word."),
        (stands_alone, "What is left of a node."),
        (stands_alone, "Whether a word is known?"),
        (stands_alone, "Of frames of nothing but noise: what is usual in it."),
        (ends_its_sentence, "Returns the last sample"),
        (reads_as_written_here, "Opens the device anew, by name."),
        (reads_as_written_here, "Raises an error for whoever holds the stream."),
        (reads_as_written_here, "Waits for ever."),
        (reads_as_written_here, "A journal that can be gone on with."),
        (reads_as_written_here, "Listens for so long a time."),
        (reads_as_written_here, "Draws the value beside the limit."),
        (reads_as_written_here, "The visit goes on at the same step."),
        (reads_as_written_here, "The step at hand."),
        (reads_as_written_here, "The search under way."),
        (reads_as_written_here, "A microphone that is not heard any more."),
        (reads_as_written_here, "Repairs that were tried in vain."),
        (reads_as_written_here, "Signs the visit off as it stands."),
        (reads_as_written_here, "The outcome: what came of it."),
        (reads_as_written_here, "The flag is whether it may be skipped."),
        (reads_as_written_here, "The answer that the step wants."),
        (reads_as_written_here, "The guide, where there is one."),
        (reads_as_written_here, "A step on which a life hangs."),
        (reads_as_written_here, "Files the value after a word of assent."),
        (reads_as_written_here, "Times a run of the clock."),
        (reads_as_written_here, "The facts that are filled in on paper."),
        (reads_as_written_here, "The facts that are known of a door."),
        (reads_as_written_here, "A pause is no answer."),
    ],
)
def test_a_rule_rejects_a_docstring_that_breaks_it(rule: Rule, bad: str, tmp_path: Path):
    """Replaces the docstring of a real module: that rule must object, and no other check of it."""
    assert not rule(bad)
    package = tmp_path / "handsfree"
    (package / "audio").mkdir(parents=True)
    source = (PACKAGE / "audio" / "gain.py").read_text(encoding="utf-8")
    original = ast.get_docstring(ast.parse(source)) or ""
    assert all(each(original) for each in RULES)
    (package / "audio" / "gain.py").write_text(source.replace(original, bad, 1), "utf-8")
    assert any(f"not {rule.__name__}" in message for _, message in complaints(package))


@pytest.mark.parametrize(
    "good",
    [
        "Reverberation tail ignored after playback (s).",
        "``offset`` + ``gain`` · setting, in newtons.",
        "'six point two', digit by digit.",
        "Returns the next block.\n\nNone stands for the end.",
        "Paths are relative to ``beside``; there is no device to release.",
        "Asks for a decision at hand-over; the clip is no longer needed.",
        "Nobody asks why any more than twice.",
    ],
)
def test_a_good_docstring_passes_every_rule(good: str):
    assert all(rule(good) for rule in RULES)


def test_the_rules_see_modules_classes_methods_functions_and_constants(tmp_path: Path):
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "module.py").write_text(
        '"""so module"""\n'
        'LIMIT = 1\n"""so constant"""\n'
        'class Public:\n    """so class"""\n    def method(self):\n        """so method"""\n'
        'def function():\n    """so function"""\n'
        'def _private():\n    """so private"""\n'
        '_LIMIT = 1\n"""so private constant"""\n',
        encoding="utf-8",
    )
    seen = {each.text.removeprefix("so ") for each in docstrings_in(tmp_path)}
    assert seen == {"module", "constant", "class", "method", "function"}


# --- the table of modules


def modules(package: Path) -> set[str]:
    return {
        path.relative_to(package).as_posix()
        for paths in modules_of(package).values()
        for path in paths
    }


def test_the_table_names_every_module_and_no_other():
    named = named_in(table_in(PAGE.read_text(encoding="utf-8")))
    assert named == modules(PACKAGE), "run: python -m tests.module_table"


def test_the_table_says_what_the_docstrings_say():
    table = table_in(PAGE.read_text(encoding="utf-8"))
    assert table == table_of(PACKAGE), "run: python -m tests.module_table"


def test_a_module_that_comes_or_goes_shows_in_the_table(tmp_path: Path):
    package = tmp_path / "handsfree"
    for room in ("audio", "timing"):
        shutil.copytree(PACKAGE / room, package / room, ignore=shutil.ignore_patterns("*.npz"))
    table = table_of(package)
    assert named_in(table) == modules(package)
    (package / "audio" / "gain.py").unlink()
    (package / "timing" / "sundial.py").write_text('"""Reads a sundial."""\n', encoding="utf-8")
    assert named_in(table) - modules(package) == {"audio/gain.py"}
    assert modules(package) - named_in(table) == {"timing/sundial.py"}


def test_a_sentence_ends_at_its_period_and_not_inside_a_name():
    assert first_sentence("Reads journal.head. It is small.\n\nMore.") == "Reads journal.head."
    assert first_sentence("Runs ``python -m a.b`` | twice.") == r"Runs `python -m a.b` \| twice."


# --- the paths of the architecture page


def names_in(path: Path) -> set[str]:
    """The functions, classes and 'Class.method' that a module defines."""
    found: set[str] = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found.add(node.name)
            inner = node.body if isinstance(node, ast.ClassDef) else []
            found |= {f"{node.name}.{n.name}" for n in inner if isinstance(n, ast.FunctionDef)}
    return found


def hops_in(page: str) -> list[tuple[str, str]]:
    """File and function of each hop of the walk of a reading."""
    return re.findall(r"^\| \d+ \| `([\w/]+\.py)` \| `([\w.]+)` \|", page, re.MULTILINE)


def lost_hops(page: str) -> list[tuple[str, str]]:
    """The hops whose file or function does not exist."""
    return [
        (file, function)
        for file, function in hops_in(page)
        if not (PACKAGE / file).is_file() or function not in names_in(PACKAGE / file)
    ]


def lost_paths(page: str) -> list[str]:
    """Folders and modules in backquotes that do not exist."""
    root = PACKAGE.parent
    named = re.findall(r"`((?:[a-z_]+/)+(?:[\w-]+\.\w+)?)`", page.partition(BEGIN)[0])
    return [name for name in named if not any((at / name).exists() for at in (PACKAGE, root))]


def test_a_reading_walks_in_at_most_ten_hops_that_exist():
    page = PAGE.read_text(encoding="utf-8")
    assert 1 < len(hops_in(page)) <= 10
    assert not lost_hops(page)
    assert lost_hops(page.replace("`Segmenter.feed`", "`Segmenter.eat`")) == [
        ("recognition/voice_activity.py", "Segmenter.eat")
    ]


def test_the_paths_that_the_architecture_page_names_exist():
    page = PAGE.read_text(encoding="utf-8")
    assert not lost_paths(page)
    assert lost_paths(page.replace("`reports/`", "`review/`", 1)) == ["review/"]
