"""handsfree model: the speech model."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.grammar.language import Language
from handsfree.speech.graph import compile_graph
from handsfree.speech.lexicon import read_lexicon
from handsfree.speech.model import check_acoustics, model_folder


@click.group()
def model() -> None:
    """The speech model: what the tool can hear."""


@model.command()
@click.option(
    "--grammar",
    type=click.Path(path_type=Path),
    help="Folder of grammar files; without it the shipped one.",
)
@click.option(
    "--model",
    "folder",
    type=click.Path(path_type=Path),
    help="Speech model folder; without it HANDSFREE_MODEL, or the shipped one.",
)
def build(grammar: Path | None, folder: Path | None) -> None:
    """Compiles the grammar into a model folder's graph.

    Needed after a change of the grammar or of the folder's lexicon.txt. The same
    grammar and lexicon give the same bytes.

    \b
    Example:
      handsfree model build --grammar my-grammar --model my-model
    """
    language = Language.load(grammar)
    chosen = model_folder(folder)
    check_acoustics(chosen)
    graph = compile_graph(language.automaton(), read_lexicon(chosen / "lexicon.txt"))
    graph.write(chosen / "graph")
    click.echo(
        f"{chosen / 'graph'}: {graph.fst.state_count:,} states, {graph.fst.arc_count:,} arcs, "
        f"{len(language.words())} words"
    )
