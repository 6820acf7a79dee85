"""A dynamic model, like full Vosk models: the same recognizer, with the grammar passed in."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import vosk

from handsfree.errors import ModelError
from handsfree.language.interpreter import Language
from handsfree.recognition.recognizer import VoskRecognizer, runtime_grammar
from handsfree.recognition.speech_model import SpeechModel
from tests.speech_fixtures import Synthesize

from ..dynamic_model import make_dynamic

SAID = [
    "affirm",
    "left leaf opening time six point two seconds",
    "right leaf closing time four point zero five",
    "left leaf leaf width thirty six inches",
    "motor two left leaf",
]


@pytest.fixture(scope="module")
def recognizer(tmp_path_factory: pytest.TempPathFactory, language: Language) -> VoskRecognizer:
    model = SpeechModel.load(make_dynamic(tmp_path_factory.mktemp("dynamic") / "model"))
    return VoskRecognizer(model, language.automaton())


@pytest.mark.slow
def test_a_synthetic_voice_is_understood(
    recognizer: VoskRecognizer, synthesize: Synthesize, language: Language
) -> None:
    heard = [recognizer.recognize(synthesize(text)) for text in SAID]
    right = [
        text
        for text, result in zip(SAID, heard, strict=True)
        if language.parse(result.text) == language.parse(text)
    ]
    times = [word.start_s for word in heard[1].words]
    assert len(right) >= 4, f"only these were understood: {right}"
    assert times == sorted(times) and len(times) == len(heard[1].text.split())


@pytest.mark.slow
def test_chatter_and_noise_are_no_sentence(
    recognizer: VoskRecognizer, synthesize: Synthesize, language: Language
) -> None:
    chatter = recognizer.recognize(synthesize("the cafeteria downstairs has wonderful pancakes"))
    noise = np.random.default_rng(3).normal(0, 300, 48_000).astype(np.int16)
    assert "[unk]" in chatter.text
    assert language.parse(chatter.text) is None
    assert language.parse(recognizer.recognize(noise).text) is None


@pytest.mark.slow
def test_vosk_knows_the_words_that_we_read_from_its_files(recognizer: VoskRecognizer) -> None:
    model = vosk.Model(str(recognizer.model.folder))
    assert all(model.vosk_model_find_word(word) >= 0 for word in recognizer.model.words)
    assert model.vosk_model_find_word("turnstile") == -1


def test_the_grammar_lists_sentences_notes_and_other_speech(
    recognizer: VoskRecognizer, language: Language
) -> None:
    grammar = runtime_grammar(recognizer.model, language.automaton())
    assert grammar is not None
    assert {"affirm", "left leaf", "note [unk]", "[unk]"} <= set(json.loads(grammar))


def test_every_word_that_it_lacks_is_named(tmp_path: Path, language: Language) -> None:
    folder = make_dynamic(tmp_path / "model", without=("latching", "astragal", "egress"))
    words = folder / "graph" / "words.txt"
    words.write_text(
        words.read_text(encoding="utf-8").replace("[unk]", "unknown"), encoding="utf-8"
    )
    with pytest.raises(
        ModelError,
        match=r"does not know these words of the grammar: \[unk\], astragal, egress, latching \(",
    ):
        VoskRecognizer(SpeechModel.load(folder), language.automaton())


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "length"),
    [
        *(("graph/HCLr.fst", length) for length in (1, 60, 60_000)),
        *(("graph/Gr.fst", length) for length in (1, 50, 1000)),
        ("graph/disambig_tid.int", 0),
        ("conf/mfcc.conf", 104),
        ("am/final.mdl", 2_000_000),
    ],
)
def test_a_truncated_file_is_one_line_although_vosk_would_end_the_process(
    tmp_path: Path, language: Language, name: str, length: int
) -> None:
    folder = make_dynamic(tmp_path / "model")
    (folder / name).write_bytes((folder / name).read_bytes()[:length])
    with pytest.raises(ModelError) as raised:
        VoskRecognizer(SpeechModel.load(folder), language.automaton())
    assert "\n" not in str(raised.value)
    assert raised.value.file is not None and folder in (
        raised.value.file,
        *raised.value.file.parents,
    )
