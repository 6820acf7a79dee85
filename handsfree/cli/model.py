"""Shows, selects or rebuilds the speech model: ``handsfree model``."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click
from rich.table import Table

from handsfree.cli.console import new_console
from handsfree.cli.terminal import echo
from handsfree.cli.visit_setup import language_option
from handsfree.errors import ModelError
from handsfree.language.interpreter import Language
from handsfree.language.wording import ENGLISH
from handsfree.recognition.graph_compiler import compile_graph
from handsfree.recognition.lexicon import Lexicon, extend_lexicon, read_lexicon
from handsfree.recognition.model_card import ModelCard, count_parameters, read_model_card
from handsfree.recognition.pronouncing_dictionary import PACKAGE, look_up
from handsfree.recognition.speech_model import (
    FOLDER_VARIABLE,
    SHIPPED_NAME,
    ChosenBy,
    SpeechModel,
    check_acoustics,
    choose,
    model_folder,
)
from handsfree.settings import keep_setting

_KINDS = {
    "static": "own graph, compiled from the grammar",
    "dynamic": "full Vosk model; takes the grammar when the program starts",
}
_CHOSEN_BY = {
    "option": "the option --model",
    "environment": f"the variable {FOLDER_VARIABLE}",
    "settings": "the settings: handsfree model use",
    "shipped": "nothing; the shipped one is the default",
}
_NAMED = 20
"""Up to this many new words are listed; more are only counted."""
_SOURCES = {
    "en": f"the CMU Pronouncing Dictionary, as {PACKAGE} carries it",
    "es": "the rules of Spanish spelling",
}
_FOLDER = click.option(
    "--model",
    "folder",
    type=click.Path(path_type=Path),
    help="Speech model folder; without it HANDSFREE_MODEL, the settings, or the shipped one.",
)


@dataclass(frozen=True)
class Shown:
    """A model, the setting that selected it, and its model card."""

    model: SpeechModel
    chosen_by: ChosenBy
    parameters: int | None
    facts: ModelCard | None

    @property
    def words(self) -> int:
        """Number of words in its vocabulary, without markers such as '[unk]'."""
        return sum(word[0] not in "<[#!" for word in self.model.words)

    def as_json(self) -> str:
        """All of it as one JSON object."""
        model = self.model
        fields = {
            "name": model.name,
            "folder": str(model.folder),
            "chosen_by": self.chosen_by,
            "kind": model.kind,
            "words": self.words,
            "size_bytes": model.size,
            "parameters": self.parameters,
            "sha256": model.sha256,
            "facts": None if self.facts is None else self.facts.model_dump(mode="json"),
        }
        return json.dumps(fields, ensure_ascii=False)

    def lines(self) -> Iterator[tuple[str, str]]:
        """The same as pairs of name and text."""
        model, facts = self.model, self.facts
        yield "model", model.name if facts is None else f"{model.name}: {facts.name}"
        yield "folder", str(model.folder)
        yield "chosen by", _CHOSEN_BY[self.chosen_by]
        yield "kind", _KINDS[model.kind]
        yield "words", f"{self.words:,}"
        yield "size", f"{model.size / 1e6:.1f} MB"
        yield "parameters", "not known" if self.parameters is None else f"{self.parameters:,}"
        yield "sha256", model.sha256
        if facts is None:
            yield "license", "unknown; the folder has no model.toml"
            return
        yield "status", facts.status
        yield "license", facts.licence
        yield from (("attribution", line) for line in facts.attribution)
        yield from (("trained on", line) for line in facts.trained_on)


@click.group(invoke_without_command=True)
@_FOLDER
@language_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_context
def model(context: click.Context, folder: Path | None, language: str, as_json: bool) -> None:
    """Shows the speech model in use, or changes it.

    You see its folder, what chose it, words, size, license and scores.

    \b
    Example:
      handsfree model --json
    """
    if context.invoked_subcommand is not None:
        return
    choice = choose(folder, language)
    chosen = SpeechModel.load(choice.folder)
    shown = Shown(
        chosen,
        choice.by,
        count_parameters(chosen.folder / "am" / "final.mdl"),
        read_model_card(chosen.folder),
    )
    if as_json:
        echo(shown.as_json())
        return
    for name, text in shown.lines():
        echo(f"{name:<12}{text}")
    if shown.facts is not None and shown.facts.scores:
        echo(f"\nSentences understood completely. {shown.facts.note}")
        new_console().print(_scores(shown.facts))


@model.command()
@click.argument("folder", type=click.Path(path_type=Path))
def use(folder: Path) -> None:
    """Chooses the speech model: a FOLDER, or 'shipped'.

    FOLDER was made by 'handsfree model build', or is any English Vosk model with graph/HCLr.fst
    and graph/Gr.fst. It is tried out first. If it lacks a word of the grammar, the word is named
    and the choice does not change.

    \b
    Example:
      handsfree model use my-model
      handsfree model use shipped
    """
    from handsfree.recognition.model_probe import probe_model
    from handsfree.recognition.recognizer import runtime_grammar  # slow to import

    if str(folder) == SHIPPED_NAME:
        file = keep_setting("model", None)
        echo(f"The shipped speech model is in use now ({file}).")
    else:
        chosen = SpeechModel.load(folder)
        facts = read_model_card(chosen.folder)
        language = Language.load(language=ENGLISH if facts is None else facts.language)
        probe_model(chosen.folder, runtime_grammar(chosen, language.automaton()))
        file = keep_setting("model", str(chosen.folder))
        echo(f"{chosen.folder} is in use now: {_KINDS[chosen.kind]} ({file}).")
    if os.environ.get(FOLDER_VARIABLE):
        echo(f"But {FOLDER_VARIABLE} is set, and overrides the settings.", err=True)


@model.command()
@click.option(
    "--grammar",
    type=click.Path(path_type=Path),
    help="Folder of grammar files; without it the shipped one.",
)
@_FOLDER
@language_option
def build(grammar: Path | None, folder: Path | None, language: str) -> None:
    """Compiles the grammar into a model folder's graph.

    Run it after you change the grammar or the folder's lexicon.txt. A new English word is looked
    up in the CMU dictionary, if the package pocketsphinx is installed, and added to lexicon.txt.
    The pronunciation of a Spanish word comes from its spelling. The same grammar and lexicon give
    the same bytes.

    \b
    Example:
      handsfree model build --grammar my-grammar --model my-model
    """
    spoken = Language.load(grammar, language)
    automaton = spoken.automaton()
    chosen = model_folder(folder, language)
    check_acoustics(chosen)
    file = chosen / "lexicon.txt"
    if not file.exists() and (chosen / "graph" / "HCLr.fst").exists():
        raise ModelError(
            "nothing to build: this model reads the grammar when the program starts",
            file=chosen,
            way_out="select it: handsfree model use FOLDER",
        )
    lexicon = read_lexicon(file)
    found = look_up(lexicon.missing(sorted(spoken.words())), file, language)
    graph = compile_graph(automaton, Lexicon({**lexicon.pronunciations, **found}))
    if found:
        extend_lexicon(file, found, _SOURCES[language])
        named = ", ".join(found) if len(found) <= _NAMED else f"{len(found)} words"
        echo(f"{file}: added {named} from {_SOURCES[language]}")
    graph.write(chosen / "graph")
    echo(
        f"{chosen / 'graph'}: {graph.fst.state_count:,} states, {graph.fst.arc_count:,} arcs, "
        f"{len(spoken.words())} words"
    )


def _scores(facts: ModelCard) -> Table:
    table = Table("Sound", "Noise", "Right", "Wrong", "Of")
    for score in facts.scores:
        counts = (str(score.right), str(score.wrong), str(score.count))
        table.add_row(score.material, score.noise, *counts)
    return table
