"""The recognizer, with floors that this speech model clearly reaches and another build may too."""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.language.interpreter import Language
from handsfree.recognition.close_calls import (
    ASSENT_NATS,
    CLOSE_NATS,
    Alternative,
    reject_close_call,
)
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.recognizer import (
    FakeRecognizer,
    Recognized,
    Recognizer,
    VoskRecognizer,
    Word,
)
from handsfree.recognition.speech_model import SpeechModel
from tests.speech_fixtures import Recording, Synthesize

READING = "left leaf opening time six point two seconds"


class AnyRecognizer(ABC):
    """Tests for every recognizer, given the sound of READING."""

    @abstractmethod
    @pytest.fixture
    def ears(self) -> Recognizer: ...

    @pytest.fixture
    def sound(self, synthesize: Synthesize) -> NDArray[np.int16]:
        return synthesize(READING)

    def test_it_hears_the_words_in_order_within_the_sound(
        self, ears: Recognizer, sound: NDArray[np.int16]
    ) -> None:
        heard = ears.recognize(sound)
        times = [time for word in heard.words for time in (word.start_s, word.end_s)]
        assert heard.text == " ".join(word.word for word in heard.words) == READING
        assert times == sorted(times)
        assert 0 <= times[0] < times[-1] <= len(sound) / 16_000


class TestVoskRecognizer(AnyRecognizer):
    @pytest.fixture
    def ears(self, recognizer: VoskRecognizer) -> Recognizer:
        return recognizer


class TestFakeRecognizer(AnyRecognizer):
    @pytest.fixture
    def ears(self) -> Recognizer:
        return FakeRecognizer([READING])


SAID = [
    "affirm",
    "negative",
    "stand by",
    "say again",
    "right leaf closing time four point zero five",
    "left leaf leaf width thirty six inches",
    "right leaf leaf weight one hundred twenty five pounds",
    "left leaf opening force eleven and a half pounds",
    "correction five point nine",
    "motor two left leaf",
]


@pytest.mark.slow
def test_a_synthetic_voice_is_understood(
    recognizer: VoskRecognizer, synthesize: Synthesize, language: Language
) -> None:
    right = [
        text
        for text in SAID
        if language.parse(recognizer.recognize(synthesize(text)).text) == language.parse(text)
    ]
    assert len(right) >= 8, f"only these were understood: {right}"


@pytest.mark.slow
def test_the_same_sound_is_heard_alike_each_time(
    recognizer: VoskRecognizer, synthesize: Synthesize
) -> None:
    sound = synthesize(READING)
    assert recognizer.recognize(sound) == recognizer.recognize(sound)


@pytest.mark.slow
@pytest.mark.parametrize("rms", [0.0, 4.0, 300.0])
def test_noise_alone_is_no_sentence(
    recognizer: VoskRecognizer, language: Language, rms: float
) -> None:
    noise = np.random.default_rng(3).normal(0, rms, 48_000).astype(np.int16)
    assert language.parse(recognizer.recognize(noise).text) is None


@pytest.mark.slow
def test_chatter_is_one_stretch_of_other_speech(
    recognizer: VoskRecognizer, synthesize: Synthesize
) -> None:
    heard = recognizer.recognize(synthesize("the cafeteria downstairs has wonderful pancakes"))
    assert heard.text == "[unk]"


@pytest.mark.slow
def test_a_note_keeps_its_first_word(
    recognizer: VoskRecognizer, synthesize: Synthesize, language: Language
) -> None:
    heard = recognizer.recognize(synthesize("note, the wallpaper behind it is peeling off"))
    assert heard.text == "note [unk]"
    assert language.parse(heard.text) == language.parse("note")


def understood(
    recordings: list[Recording], recognizer: VoskRecognizer, language: Language
) -> list[tuple[str, str]]:
    """What was said and what was heard, where that is a sentence."""
    heard = [(r.text, recognizer.recognize(read_sound(r.path)).text) for r in recordings]
    return [(said, text) for said, text in heard if language.parse(text) is not None]


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "step", "floor"), [("numbers", 1, 0.9), ("words", 6, 0.8)])
def test_real_people_are_heard(
    people: list[Recording],
    recognizer: VoskRecognizer,
    language: Language,
    kind: str,
    step: int,
    floor: float,
) -> None:
    ours = [r for r in people if r.kind == kind and language.parse(r.text) is not None][::step]
    pairs = understood(ours, recognizer, language)
    right = sum(said == heard for said, heard in pairs)
    assert right >= floor * len(ours)
    assert len(pairs) - right <= 0.05 * len(ours), [p for p in pairs if p[0] != p[1]]


@pytest.mark.slow
def test_other_speech_is_refused(
    people: list[Recording], recognizer: VoskRecognizer, language: Language
) -> None:
    other = [r for r in people if r.kind == "other_speech"][::4]
    assert len(understood(other, recognizer, language)) <= 0.03 * len(other)


@pytest.mark.slow
def test_no_other_word_is_an_assent(
    people: list[Recording], recognizer: VoskRecognizer, language: Language
) -> None:
    """How many of them are taken for some word or number stands in docs/speech-model.md."""
    other = [r for r in people if r.kind == "other_words"]
    heard = understood(other, recognizer, language)
    assert [pair for pair in heard if language.parse(pair[1]) == language.parse("affirm")] == []


def alternatives(*said: tuple[str, float]) -> list[Alternative]:
    """The possible results for an utterance of one second, with their costs in nats."""
    return [
        Alternative(
            heard=Recognized(
                text=text,
                words=tuple(
                    Word(word=word, start_s=0.1 * n, end_s=0.1 * n + 0.1)
                    for n, word in enumerate(text.split())
                ),
            ),
            cost=cost,
            sounds=0,
        )
        for text, cost in said
    ]


def test_neither_of_two_meanings_as_likely_is_taken(language: Language) -> None:
    close = alternatives(("fourteen months", 9.0), ("forty months", 9.0 + 0.9 * CLOSE_NATS))
    heard = reject_close_call(close, language.parse)
    assert heard.text == "[unk]"
    assert [(word.start_s, word.end_s) for word in heard.words] == [(0.0, 0.2)]


@pytest.mark.parametrize(
    "other",
    [
        ("forty months", 9.01 + CLOSE_NATS),  # far enough
        ("fourteen month", 9.1),  # the same meaning
        ("fourteen [unk]", 9.1),  # no sentence
    ],
)
def test_the_likeliest_is_taken_beside_any_other(
    other: tuple[str, float], language: Language
) -> None:
    found = alternatives(("fourteen months", 9.0), other)
    assert reject_close_call(found, language.parse) == found[0].heard


@pytest.mark.parametrize(
    ("assent", "other"),
    [("yes", "no"), ("affirm", "negative"), ("yes", "next"), ("good", "not good"), ("okay", "no")],
)
def test_an_assent_counts_only_where_all_else_is_far(
    assent: str, other: str, language: Language
) -> None:
    near = alternatives((assent, 9.0), (other, 9.0 + 0.9 * ASSENT_NATS))
    assert reject_close_call(near, language.parse).text == "[unk]"
    far = alternatives((assent, 9.0), (other, 9.01 + ASSENT_NATS))
    assert reject_close_call(far, language.parse).text == assent


def test_another_assent_beside_it_and_an_assent_beside_a_refusal_change_nothing(
    language: Language,
) -> None:
    for first, second in (("yes", "okay"), ("affirm", "yes"), ("no", "yes"), ("next", "yes")):
        close = alternatives((first, 9.0), (second, 9.01 + CLOSE_NATS))
        assert reject_close_call(close, language.parse).text == first


def test_what_stands_between_is_passed_over(language: Language) -> None:
    """'Yep' and other speech stand between the assent and the refusal."""
    found = alternatives(("yes", 9.0), ("yep", 9.6), ("[unk]", 10.0), ("okay", 10.5), ("no", 11.8))
    assert reject_close_call(found, language.parse).text == "[unk]"


@pytest.mark.parametrize("language_name", ["en", "es"])
def test_the_search_keeps_what_an_assent_is_compared_with(language_name: str) -> None:
    conf = SpeechModel.load(None, language_name).folder / "conf" / "model.conf"
    settings = dict(line.split("=") for line in conf.read_text(encoding="utf-8").split())
    assert float(settings["--lattice-beam"]) >= ASSENT_NATS


def test_other_speech_stays_what_it_was(language: Language) -> None:
    found = alternatives(("[unk]", 9.0), ("forty months", 9.1))
    assert reject_close_call(found, language.parse) == found[0].heard


@pytest.mark.parametrize(
    ("said", "other"), [("locked out", "not locked out"), ("proved dead", "not proved dead")]
)
def test_the_words_of_a_lock_out_count_only_where_their_bad_case_is_far(
    said: str, other: str, language: Language
) -> None:
    near = alternatives((said, 9.0), (other, 9.0 + 0.9 * ASSENT_NATS))
    assert reject_close_call(near, language.parse).text == "[unk]"
    bad = alternatives((other, 9.0), (said, 9.0 + 0.9 * ASSENT_NATS))
    assert reject_close_call(bad, language.parse).text == other
    assert reject_close_call(bad, language.parse, reject_near_opposites=True).text == "[unk]"


@pytest.mark.parametrize(
    ("refusal", "assent"), [("no good", "all good"), ("no", "yes"), ("negative", "affirm")]
)
def test_a_refusal_that_was_heard_kindly_counts_only_where_an_assent_is_far(
    refusal: str, assent: str, language: Language
) -> None:
    near = alternatives(
        (refusal, 9.0), ("nope", 9.01 + CLOSE_NATS), (assent, 9.0 + 0.9 * ASSENT_NATS)
    )
    assert reject_close_call(near, language.parse).text == refusal  # heard as the model knows it
    assert reject_close_call(near, language.parse, reject_near_opposites=True).text == "[unk]"
    far = alternatives((refusal, 9.0), (assent, 9.01 + ASSENT_NATS))
    assert reject_close_call(far, language.parse, reject_near_opposites=True).text == refusal


def test_what_is_heard_kindly_beside_a_refusal_stays(language: Language) -> None:
    """Only the opposite takes a refusal away, and an answer that is neither keeps its own rule."""
    for first, second in (("no", "note"), ("done", "yes"), ("done", "no")):
        near = alternatives((first, 9.0), (second, 9.01 + CLOSE_NATS))
        assert reject_close_call(near, language.parse, reject_near_opposites=True).text == first


@pytest.mark.parametrize(("word", "said"), [("all", "OW L"), ("no", "N OW UW"), ("good", "G AH D")])
def test_all_no_and_good_are_known_as_british_voices_say_them(word: str, said: str) -> None:
    folder = SpeechModel.load(None, "en").folder
    assert tuple(said.split()) in read_lexicon(folder / "lexicon.txt").of(word)
