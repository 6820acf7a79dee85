"""Links the files of a grammar: follows imports and gives every rule its full name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from handsfree.errors import GrammarError
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.prune import pruned
from handsfree.language.syntax_tree import (
    Alternatives,
    Grammar,
    GrammarFile,
    Import,
    Node,
    OptionalGroup,
    Reference,
    Repeat,
    Rule,
    Sequence,
    Tagged,
    walk,
)


def load_grammar(folder: Path, top: str, *made: GrammarFile) -> Grammar:
    """Reads ``top``.jsgf and its imports from a folder, or from files ``made`` by code.

    Rules that need a rule without alternatives are left out of the grammar.

    Raises GrammarError with file and line for a missing or broken file, an unresolved import or
    reference, or a rule that refers to itself.
    """
    files: dict[str, GrammarFile] = {}
    waiting: list[tuple[str, GrammarFile | None, int | None]] = [(top, None, None)]
    while waiting:
        name, importer, line = waiting.pop()
        if name in files:
            continue
        by_code = next((file for file in made if file.name == name), None)
        files[name] = parsed = by_code or _read(folder, name, importer, line)
        waiting.extend((wanted.grammar, parsed, wanted.line) for wanted in parsed.imports)
    return pruned(join(top, files), {})


def _read(folder: Path, name: str, importer: GrammarFile | None, line: int | None) -> GrammarFile:
    path = folder / f"{name}.jsgf"
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        if importer is None:
            raise GrammarError("no such grammar file", file=path) from error
        raise GrammarError(
            f"imports '{name}', but there is no {path.name} in the same folder",
            file=importer.file,
            line=line,
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise GrammarError(f"cannot be read as UTF-8 text: {error}", file=path) from error
    parsed = parse_jsgf(text, path)
    if parsed.name != name:
        raise GrammarError(
            f"calls itself '{parsed.name}'", file=path, way_out=f"write grammar {name};"
        )
    return parsed


def join(top: str, files: dict[str, GrammarFile]) -> Grammar:
    """Combines several files into one grammar with every reference resolved."""
    rules: dict[str, Rule] = {}
    for file in files.values():
        visible = _visible(file, files)
        for rule in file.rules:
            resolve = _resolver(file, visible)
            full = f"{file.name}.{rule.name}"
            rules[full] = replace(rule, expansion=_rename(rule.expansion, resolve))
    _refuse_recursion(rules)
    return Grammar(top=top, rules=rules)


def _visible(file: GrammarFile, files: dict[str, GrammarFile]) -> dict[str, str]:
    """All names that a file may use, mapped to full rule names; its own rules take precedence."""
    visible: dict[str, str] = {}
    for wanted in file.imports:
        for rule in _imported(file, wanted, files[wanted.grammar]):
            visible.setdefault(rule, f"{wanted.grammar}.{rule}")
            visible[f"{wanted.grammar}.{rule}"] = f"{wanted.grammar}.{rule}"
    for own in file.rules:
        visible[own.name] = f"{file.name}.{own.name}"
    return visible


def _imported(file: GrammarFile, wanted: Import, source: GrammarFile) -> list[str]:
    public = [rule.name for rule in source.rules if rule.public]
    if wanted.rule == "*":
        return public
    if wanted.rule not in public:
        raise GrammarError(
            f"imports <{wanted.rule}>, but {source.file.name} has no public rule of that name",
            file=file.file,
            line=wanted.line,
        )
    return [wanted.rule]


def _resolver(file: GrammarFile, visible: dict[str, str]) -> Callable[[Reference], Reference]:
    def resolve(reference: Reference) -> Reference:
        if reference.rule not in visible:
            raise GrammarError(
                f"<{reference.rule}> is not defined",
                file=file.file,
                line=reference.line,
                way_out="define it here or import it",
            )
        return Reference(visible[reference.rule], reference.line)

    return resolve


def _rename(node: Node, resolve: Callable[[Reference], Reference]) -> Node:
    match node:
        case Reference():
            return resolve(node)
        case Sequence(items):
            return Sequence(tuple(_rename(item, resolve) for item in items))
        case Alternatives(options, weights):
            return Alternatives(tuple(_rename(item, resolve) for item in options), weights)
        case OptionalGroup(item):
            return OptionalGroup(_rename(item, resolve))
        case Repeat(item, at_least):
            return Repeat(_rename(item, resolve), at_least)
        case Tagged(item, tag, line):
            return Tagged(_rename(item, resolve), tag, line)
        case _:
            return node


def _refuse_recursion(rules: dict[str, Rule]) -> None:
    """Rejects a rule that refers to itself; repetition is written with * or +."""
    finished: set[str] = set()

    def visit(name: str, above: tuple[str, ...]) -> None:
        for node in walk(rules[name].expansion):
            if not isinstance(node, Reference) or node.rule in finished:
                continue
            if node.rule in (*above, name):
                short = node.rule.rpartition(".")[2]
                raise GrammarError(
                    f"<{short}> refers to itself",
                    file=rules[name].file,
                    line=node.line,
                    way_out="write a repetition with * or +",
                )
            visit(node.rule, (*above, name))
        finished.add(name)

    for name in rules:
        visit(name, ())
