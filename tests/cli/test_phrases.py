"""handsfree phrases: the table, the card, and the tables of a Markdown file."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.cli.phrases_card import card
from handsfree.cli.phrases_markdown import quantities_written_into
from handsfree.data import data_folder
from handsfree.errors import WordingError
from handsfree.language.interpreter import Language
from handsfree.language.phrase_texts import phrase_texts
from handsfree.language.wording import languages
from tests.browser import address_of, page_at, violations

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")


def run(*args: str) -> str:
    result = CliRunner().invoke(main, ["phrases", *args])
    assert result.exit_code == 0, result.output
    return result.output


def page() -> str:
    folder = data_folder("grammars")
    return card([(Language.load(folder / code, code), phrase_texts(code)) for code in ("en", "es")])


def test_the_table_lists_a_phrase_with_what_it_does():
    lines = run().splitlines()
    assert any("stand by / pause / wait" in line and "carry on" in line for line in lines)


@pytest.mark.slow
@pytest.mark.parametrize("code", languages())
def test_the_table_of_each_language_has_its_heads(code):
    assert phrase_texts(code).head[1] in run("--language", code)


@pytest.mark.slow
def test_the_card_says_that_no_door_is_stopped_in_both_languages():
    text = page()
    assert "cannot stop a door" in text
    assert "no puede detener una puerta" in text


@pytest.mark.slow
def test_the_card_needs_nothing_from_outside():
    assert not re.search(r"https?:|<link|<script|src=|@import|url\(", page())


@pytest.mark.slow
def test_the_phrases_of_the_stopwatch_come_first_and_both_leaves_are_there():
    text = page()
    for first, both in (
        ("start the clock", "both leaves"),
        ("inicie el cronómetro", "ambas hojas"),
    ):
        phrases = re.findall(r"<dt>(.+?)</dt>", text[text.index(f"<dt>{first}<") :])
        assert phrases[0] == first and any(phrase.startswith(both) for phrase in phrases)
    assert "<dt>ten</dt><dd>it passes ten degrees</dd>" in text
    assert "<dt>cierra</dt><dd>empieza a cerrar</dd>" in text
    assert text.index("<dt>go<") < text.index("<dt>affirm<")


@pytest.mark.slow
def test_the_card_says_what_each_answer_does_and_has_the_words_of_a_lock_out():
    text = page()
    for said, does in (
        ("yes", "the good answer to a yes or no question"),
        ("locked out", "your own lock is on"),
        ("energía cero", "los cables no tienen corriente"),
    ):
        assert f"<dt>{said}</dt><dd>{does}</dd>" in text
    assert "<dd></dd>" not in text


def test_an_effect_of_a_phrase_that_the_card_lacks_is_refused():
    texts = phrase_texts("en")
    does = {**texts.card.does, "roger": "agrees"}
    texts = texts.model_copy(update={"card": texts.card.model_copy(update={"does": does})})
    with pytest.raises(WordingError, match="roger"):
        card([(Language.load(), texts)])


@pytest.mark.slow
@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_card_fits_a_phone_and_has_no_fault_of_access(
    browser: Any, width: int, dark: bool, tmp_path: Path
):
    """Rules of axe-core (Deque, MPL), which knows nothing of the card."""
    html = tmp_path / "card.html"
    html.write_text(page(), encoding="utf-8")
    with page_at(browser, address_of(html), width=width, dark=dark) as shown:
        assert shown.evaluate("document.documentElement.scrollWidth") <= width
        assert violations(shown) == [] and shown.faults == []
        paper = shown.evaluate("getComputedStyle(document.body).backgroundColor")
        assert (paper == "rgb(255, 255, 255)") is not dark


@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="chromium, which prints the page, is not installed")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_card_is_one_page(paper, tmp_path: Path):
    html, pdf = tmp_path / "card.html", tmp_path / "card.pdf"
    html.write_text(page().replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
    subprocess.run(
        [
            *(str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu"),
            *("--no-pdf-header-footer", f"--print-to-pdf={pdf}", str(html)),
        ],
        check=True,
        capture_output=True,
    )
    assert len(re.findall(rb"/Type\s*/Page[^s]", pdf.read_bytes())) == 1


def test_the_command_writes_the_card(tmp_path: Path):
    file = tmp_path / "card.html"
    assert "one page" in run("--card", str(file))
    assert file.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_phrase_of_the_card_that_is_no_sentence_is_named(language):
    texts = phrase_texts()
    wrong = texts.card.group[0].model_copy(update={"say": ("roger that",)})
    texts = texts.model_copy(update={"card": texts.card.model_copy(update={"group": (wrong,)})})
    with pytest.raises(WordingError, match="'roger that', which is not a sentence"):
        card([(language, texts)])


def test_a_language_that_is_not_there_is_named():
    result = CliRunner().invoke(main, ["phrases", "--language", "xx"])
    assert result.exit_code == 2
    assert "there is no language 'xx'" in result.output


def test_the_tables_are_written_between_their_marks(tmp_path: Path):
    file = tmp_path / "text.md"
    marks = "".join(
        f"<!-- phrases {code} -->\nstale\n<!-- end of phrases {code} -->\n" for code in languages()
    )
    file.write_text(f"above\n{marks}below\n", encoding="utf-8")
    run("--into", str(file))
    text = file.read_text(encoding="utf-8")
    assert text.startswith("above\n<!-- phrases en -->\n")
    assert text.endswith(" -->\nbelow\n")
    assert "stale" not in text
    assert "| `stand by / pause / wait` | listens for 'carry on' only |" in text


def test_the_table_of_quantities_is_written_between_its_marks(tmp_path: Path):
    file = tmp_path / "text.md"
    file.write_text("above\n<!-- quantities -->\nstale\n<!-- end of quantities -->\nbelow\n")
    run("--into", str(file))
    text = file.read_text(encoding="utf-8")
    assert text.startswith("above\n<!-- quantities -->\n") and text.endswith(" -->\nbelow\n")
    assert "stale" not in text
    assert "| `leaf_width` | leaf | in, mm | 18 to 60 in | sets a limit |" in text
    assert "| `cycles` | opening | | 1 to 100 | record |" in text


def test_the_table_of_quantities_in_the_docs_is_the_current_one():
    """When not: handsfree phrases --into docs/procedures.md."""
    guide = Path(__file__).parents[2] / "docs" / "procedures.md"
    text = guide.read_text(encoding="utf-8")
    assert quantities_written_into(text, guide) == text


def test_a_file_without_marks_is_left_alone(tmp_path: Path):
    file = tmp_path / "text.md"
    file.write_text("above\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["phrases", "--into", str(file)])
    assert result.exit_code == 2
    assert "add the two lines <!-- phrases en -->" in result.output
    assert file.read_text(encoding="utf-8") == "above\n"
