"""The texts read aloud come from the grammar."""

import shutil
from itertools import islice
from random import Random

from handsfree.data import data_folder
from handsfree.language.interpreter import Language
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.speech_model import SHIPPED
from handsfree.training.grammar_texts import texts

GENERAL = ["harbour", "violin"]


def drawn(language: Language, count: int) -> list[str]:
    return list(islice(texts(language, GENERAL, Random(1)), count))


def test_every_word_of_the_grammar_is_read_and_can_be_said():
    language = Language.load()
    read = {word for text in drawn(language, 6000) for word in text.split()}
    assert language.words() <= read <= language.words() | set(GENERAL)
    assert read_lexicon(SHIPPED / "lexicon.txt").missing(read) == sorted(GENERAL)


def test_a_changed_grammar_changes_what_is_read(tmp_path):
    changed = tmp_path / "en"
    shutil.copytree(data_folder("grammars") / "en", changed)
    file = changed / "words.jsgf"
    rule = "stand by | pause | wait"
    text = file.read_text(encoding="utf-8")
    assert rule in text
    file.write_text(text.replace(rule, "stand by | pause | hold on"), encoding="utf-8")
    read = drawn(Language.load(changed), 3000)
    assert {"hold", "on"} <= {word for text in read for word in text.split()}


def test_half_of_it_is_sentences():
    language = Language.load()
    understood = sum(language.parse(text) is not None for text in drawn(language, 1000))
    assert understood > 500


def test_the_same_seed_gives_the_same_texts():
    language = Language.load()
    assert drawn(language, 50) == drawn(language, 50)
