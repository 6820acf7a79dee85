"""The table of modules in docs/architecture.md: ``python -m tests.module_table`` rewrites it.

Every room gets a heading and one line per module: the first sentence of the module's docstring.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import handsfree

PACKAGE = Path(handsfree.__file__).parent
PAGE = Path(__file__).parent.parent / "docs" / "architecture.md"
BEGIN = "<!-- The table of modules: written by python -m tests.module_table -->"
END = "<!-- End of the table of modules -->"

_SENTENCE = re.compile(r".+?[.?!](?=\s|$)", re.DOTALL)


def first_sentence(docstring: str) -> str:
    """Returns the first sentence of a docstring on one line, safe in a Markdown table."""
    paragraph = " ".join(docstring.split("\n\n")[0].split())
    found = _SENTENCE.match(paragraph)
    return (found[0] if found else paragraph).replace("``", "`").replace("|", r"\|")


def _sentence_of(module: Path) -> str:
    docstring = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8")))
    return first_sentence(docstring or "")


def modules_of(package: Path) -> dict[str, list[Path]]:
    """Lists the modules of each room, '' for the loose ones; a room's own docstring is not one."""
    rooms: dict[str, list[Path]] = {"": sorted(package.glob("*.py"))}
    for init in sorted(package.rglob("*/__init__.py")):
        room = init.parent.relative_to(package).as_posix()
        rooms[room] = [p for p in sorted(init.parent.glob("*.py")) if p != init]
    return rooms


def table_of(package: Path) -> str:
    """Returns the whole table as Markdown, with a section for each room."""
    parts = []
    for room, modules in modules_of(package).items():
        title = f"`{room}/`" if room else "At the top"
        about = _sentence_of(package / room / "__init__.py") if room else "Used by every room."
        rows = [f"| `{path.name}` | {_sentence_of(path)} |" for path in modules]
        parts += [f"### {title}", "", about, "", "| module | what it holds |", "| --- | --- |"]
        parts += [*rows, ""]
    return "\n".join(parts).strip("\n")


def table_in(page: str) -> str:
    """Returns the table in the page, between its two markers."""
    return page.partition(BEGIN)[2].partition(END)[0].strip("\n")


def named_in(table: str) -> set[str]:
    """Lists the modules that a table names: 'audio/capture.py', 'errors.py'."""
    named, room = set(), ""
    for line in table.splitlines():
        if line.startswith("### "):
            heading = re.search(r"`(.+/)`", line)
            room = heading[1] if heading else ""
        elif row := re.match(r"\| `(\w+\.py)` \|", line):
            named.add(room + row[1])
    return named


def main() -> None:
    """Rewrites the table in the page."""
    page = PAGE.read_text(encoding="utf-8")
    before, _, rest = page.partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise SystemExit(f"{PAGE.name} has no marks for the table: {BEGIN} and {END}")
    text = f"{before}{BEGIN}\n\n{table_of(PACKAGE)}\n\n{END}{after}"
    PAGE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
