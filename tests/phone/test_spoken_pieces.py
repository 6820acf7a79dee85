"""Everything the tool says can be said from the pieces that the app is built with."""

import json

import pytest

from handsfree.clock import FakeClock
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.job.job import Sheet
from handsfree.job.opening import Swing
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages
from handsfree.phone.carried_job import CarriedJob, job_of
from handsfree.phone.companion import Companion
from handsfree.phone.prompt_texts import texts_to_render
from handsfree.phone.spoken_pieces import (
    COMMA_S,
    END_S,
    WORD_S,
    Pieces,
    phrase_key,
    sentences_of,
    words_of,
)
from handsfree.phone.start_page import invented_job
from handsfree.procedure.loader import load_procedure, shipped_procedures

from ..dialogue.technician import PHRASES, answer_to, opening, walk
from ..script import typed_lines
from .walks import JOB, PROCEDURE


class Built:
    """One language, and the pieces of an app in it."""

    def __init__(self, name, *, words_only=False):
        self.language = Language.load(language=name)
        self.words = self.language.wording
        sheet = Sheet(
            reference="T",
            site="a test",
            technician="nobody",
            opening=opening(Swing.SINGLE, True),
        )
        jobs = [job_of(invented_job()), CarriedJob(sheet=sheet)]
        keys = [phrase_key(text, self.words) for text in texts_to_render(self.language, jobs)]
        assert len(set(keys)) == len(keys)
        self.phrases = [key for key in keys if " " not in key or not words_only]
        self.pieces = Pieces(self.phrases, self.words)

    def saying(self, text):
        return [self.phrases[number] for number, _ in self.pieces.saying(text)]

    def says_all(self, text):
        """True if the pieces are the words of the text, none spelled."""
        return " ".join(self.saying(text)) == phrase_key(text, self.words) != ""


@pytest.fixture(scope="module")
def built():
    return {name: Built(name) for name in languages()}


@pytest.mark.slow
@pytest.mark.parametrize("swing", Swing)
@pytest.mark.parametrize("name", languages())
def test_every_sentence_of_a_whole_walk_of_every_procedure_is_said(built, name, swing):
    """Without a word spelled, and from single words alone if there is room for no more."""
    here, least, said = built[name], Built(name, words_only=True), set()
    for procedure in shipped_procedures(name):
        for everything in (True, False):
            loaded = load_procedure(procedure, None, name)
            door = opening(swing, everything)
            answers = walk(
                here.language,
                loaded,
                door,
                lambda state: answer_to(state, "slams"),
                asides=PHRASES[name].asides,
            )
            said.update(answers.said)
    assert len(said) > 500
    assert [text for text in said if not here.says_all(text)] == []
    assert [text for text in said if not least.says_all(text)] == []


@pytest.mark.slow
def test_the_pieces_of_a_turn_come_with_its_texts(built, tmp_path):
    english = built["en"]
    companion = Companion(str(tmp_path / "visit"), FakeClock())
    companion.speak_from(json.dumps(english.phrases), "en")
    shown = [json.loads(companion.begin(JOB, PROCEDURE))]
    shown += [json.loads(companion.take_line(line)) for line in typed_lines()]
    companion.close()
    out = [each for screen in shown for each in screen["out"] if "say" in each]
    assert len(out) > 100 and shown[-1]["closed"]
    for each in out:
        words = " ".join(english.phrases[number] for number, _ in each["pieces"])
        assert words == phrase_key(each["say"], english.words), each


def test_without_pieces_the_page_gets_none(tmp_path):
    companion = Companion(str(tmp_path / "visit"), FakeClock())
    shown = json.loads(companion.begin(JOB, PROCEDURE))
    companion.close()
    assert not any("pieces" in each for each in shown["out"])


@pytest.mark.parametrize("name", languages())
def test_a_fixed_sentence_is_one_piece(built, name):
    here = built[name]
    for procedure in shipped_procedures(name):
        for step in load_procedure(procedure, None, name).steps:
            for sentence in sentences_of(step.prompt):
                if "{" not in sentence:
                    assert here.saying(sentence) == [phrase_key(sentence, here.words)]
    for text in here.words.sentences.values():
        if isinstance(text, str) and "{" not in text and len(sentences_of(text)) == 1:
            assert here.saying(text) == [phrase_key(text, here.words)]


@pytest.mark.parametrize("name", languages())
def test_everything_a_search_says_is_said(built, name):
    here = built[name]
    for tree in (load_tree(each, name) for each in shipped_trees(name)):
        for check in tree.checks:
            assert here.says_all(check.ask), check.ask
            assert check.why == "" or here.says_all(check.why), check.why
        for cause in tree.causes:
            for text in (cause.found, cause.remedy, cause.prove):
                assert here.says_all(text), text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Step 17 of 117.", "step seventeen of one hundred seventeen"),
        ("6.20", "six point two zero"),
        ("at most 12 feet", "at most twelve feet"),
        ("07", "zero seven"),
        ("It shows E42", "it shows echo forty two"),
        ("Ms. Zyx", "mike sierra zulu yankee xray"),
        ("Café", "charlie alpha foxtrot echo"),
        ("Дверь", "see the screen"),
        ("", ""),
        ("...", ""),
    ],
)
def test_numbers_are_words_and_a_strange_word_is_spelled(built, text, said):
    assert " ".join(built["en"].saying(text)) == said


def test_numbers_are_said_in_the_language(built):
    assert " ".join(built["es"].saying("Paso 21 de 117")) == "paso veintiuno de ciento diecisiete"
    assert " ".join(built["es"].saying("6,5")) == "seis coma cinco"


def test_a_pause_follows_each_piece(built):
    words = built["en"].words
    assert words_of("Left leaf, 6. Done", words) == [
        ("left", WORD_S),
        ("leaf", COMMA_S),
        ("six", END_S),
        ("done", WORD_S),
    ]


def test_the_fewest_pieces_are_taken():
    words = Language.load(language="en").wording
    pieces = Pieces(["a", "b", "c", "d", "a b", "b c d", "a b c"], words)
    assert [number for number, _ in pieces.saying("a b c d")] == [6, 3]
    assert [number for number, _ in pieces.saying("c b c d")] == [2, 5]
