"""Lists the search trees; walks one at the keyboard, checks or draws it: ``handsfree search``."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from rich import box
from rich.table import Table

from handsfree.checks.limits import shipped_limits
from handsfree.checks.number_format import counted
from handsfree.cli.console import new_console
from handsfree.cli.file_faults import end_with_faults
from handsfree.cli.output_file import write_out
from handsfree.cli.terminal import echo, echo_json
from handsfree.diagnosis.search import Search, answer, back, begin, choices, longest_path, phase
from handsfree.diagnosis.search_tree import Cause, Check, SearchTree
from handsfree.diagnosis.tree_loader import faults_of, load_tree, shipped_trees
from handsfree.diagnosis.tree_svg import tree_svg
from handsfree.exit_codes import ExitCode
from handsfree.job.job import Job
from handsfree.job_file.loader import load_sheet
from handsfree.language.wording import ENGLISH, languages, wording

_LANGUAGE = click.option(
    "--language", type=click.Choice(languages()), default=ENGLISH, show_default=True
)
_CLEAR = "clear"
_SHORT = {"y": "yes", "n": "no"}
_HELP = "answer, or: why, back, skip (it cannot be done here), stop"


@click.group(invoke_without_command=True)
@_LANGUAGE
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
@click.pass_context
def search(ctx: click.Context, language: str, as_json: bool) -> None:
    """Leads from a complaint to its cause, one check at a time.

    Without a command it lists the search trees.

    \b
    Examples:
      handsfree search
      handsfree search start slams --job harbour-hall.job.toml
      handsfree search check my-tree.toml
      handsfree search draw does-not-open --out does-not-open.svg
    """
    ctx.default_map = {name: {"language": language} for name in ("start", "check", "draw")}
    if ctx.invoked_subcommand is not None:
        return
    trees = [load_tree(name, language) for name in shipped_trees(language)]
    if as_json:
        echo_json([{"name": each.name, "title": each.title} | _size(each) for each in trees])
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    table.add_column("name", no_wrap=True)
    table.add_column("title", overflow="fold")
    for head in ("checks at most", "causes"):
        table.add_column(head, justify="right")
    for tree in trees:
        table.add_row(tree.name, tree.title, str(longest_path(tree)), str(len(tree.causes)))
    new_console(highlight=False).print(table)


@search.command()
@click.argument("tree")
@click.option(
    "--job",
    "job_file",
    type=click.Path(path_type=Path),
    required=True,
    help="The job file of the door: a search asks only what this door can have.",
)
@_LANGUAGE
def start(tree: str, job_file: Path, language: str) -> None:
    """Walks one tree at the keyboard; nothing is kept.

    TREE is the name of a search tree, or a file of your own. Exit code 0 if the cause was found and
    the cure proved, otherwise 1.

    \b
    Example:
      handsfree search start stays-open --job harbour-hall.job.toml
    """
    walked, job = load_tree(tree, language), Job.open(load_sheet(job_file, shipped_limits()))
    echo(f"{walked.title}. {_HELP}.")
    state: Search | None = begin(walked, job)
    while state is not None and state.outcome is None:
        state = _ask(walked, job, state)
    if state is None:
        echo("Stopped.")
        sys.exit(ExitCode.FOUND)
    _tell_end(walked, state)
    sys.exit(ExitCode.DONE if state.outcome == "cured" else ExitCode.FOUND)


@search.command()
@click.argument("file", type=click.Path(path_type=Path))
@_LANGUAGE
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def check(file: Path, language: str, as_json: bool) -> None:
    """Names every fault of a tree with its line.

    Exit code 2 when there is a fault.

    \b
    Example:
      handsfree search check my-tree.toml
    """
    end_with_faults(file, faults_of(file, language), as_json=as_json)
    tree = load_tree(file, language)
    if as_json:
        echo_json({"file": str(file), "faults": [], **_size(tree)})
        return
    echo(
        f"{file}: sound, {counted(len(tree.checks), 'check')} and "
        f"{counted(len(tree.causes), 'cause')}, {counted(longest_path(tree), 'check')} at most"
    )


@search.command()
@click.argument("tree")
@click.option("--out", type=click.Path(path_type=Path), help="A file instead of the terminal.")
@_LANGUAGE
def draw(tree: str, out: Path | None, language: str) -> None:
    """Draws a tree as SVG.

    \b
    Example:
      handsfree search draw slams --out slams.svg
    """
    picture = tree_svg(load_tree(tree, language))
    if out is None:
        echo(picture)
    else:
        write_out(out, picture.encode(), "the picture")


def _size(tree: SearchTree) -> dict[str, int]:
    return {
        "checks": len(tree.checks),
        "checks_at_most": longest_path(tree),
        "causes": len(tree.causes),
    }


def _ask(tree: SearchTree, job: Job, state: Search) -> Search | None:
    """The search after one answer from the keyboard; None to stop."""
    node, words = tree.node(state.at), {}
    if isinstance(node, Check):
        question, caution = node.ask, node.caution
        words = {spoken: value for value, spoken in node.answers.items()}
    else:
        question, caution = _at_cause(tree, node, state)
    if caution and not _cautioned(caution):
        return None
    allowed = choices(tree, state)
    echo(question)
    while True:
        said = _line()
        said = words.get(said, _SHORT.get(said, said))
        if said == "stop":
            return None
        if said == "back":
            return back(tree, job, state)
        if said in allowed:
            return answer(tree, job, state, said)
        why = node.why if isinstance(node, Check) else node.found
        echo(why if said == "why" else f"{', '.join(words or allowed)}?")


def _at_cause(tree: SearchTree, cause: Cause, state: Search) -> tuple[str, str | None]:
    """The question at a cause, and the caution before it."""
    w = wording(tree.language)
    match phase(cause, state):
        case "remedy":
            return f"Cause: {cause.found} {cause.remedy}", None
        case "learn":
            how = w.say("search_learn_how")
            return w.say("search_learn", how=how), w.say("search_learn_caution")
        case "prove":
            return cause.prove, None


def _cautioned(caution: str) -> bool:
    """True once the caution was confirmed with its word; False to stop the search."""
    echo(f"CAUTION: {caution} Type {_CLEAR} when you have seen to it.")
    while (said := _line()) != _CLEAR:
        if said == "stop":
            return False
        echo(f"I need: {_CLEAR}, or stop.")
    return True


def _line() -> str:
    """The typed line in lower case; 'stop' at the end of the input."""
    try:
        return (
            str(click.prompt("", prompt_suffix="> ", default="", show_default=False))
            .strip()
            .lower()
        )
    except click.Abort:
        echo()
        return "stop"


def _tell_end(tree: SearchTree, state: Search) -> None:
    if state.cause is not None:
        cause = tree.node(state.cause)
        assert isinstance(cause, Cause)
        cured = "Cured and proved" if state.outcome == "cured" else "Not cured"
        echo(f"{cured}: {cause.found}")
    else:
        echo("Cause not found.")
    if state.outcome != "cured":
        echo(
            "The fault is still there. Switch the operator off and tag it, or agree with the owner"
            " what is left to do."
        )
    for answered in state.trail:
        check = tree.node(answered.check)
        assert isinstance(check, Check)
        echo(f"  {check.ask} {check.answers.get(answered.answer, answered.answer)}.")
