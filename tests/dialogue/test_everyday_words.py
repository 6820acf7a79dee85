"""The meaning of 'yes', 'no', 'good', 'loose' and 'roger' at each kind of step."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.limits import load_limits
from handsfree.dialogue.everyday_words import has_own_word
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.state import State
from handsfree.job.job import Job
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.procedure.loader import load_procedure, parse_procedure, shipped_procedures
from handsfree.visit_record.progress import Progress

from ..bench.listening_material import every_sentence
from ..talk import SHEET, Talk
from .door_talk import TOLD, at_the_door, enter
from .test_spanish_talk import PROCEDURE as SPANISH

LEAF = "swings-free:left leaf"
WORDS = {
    "en": {
        "start": ("done", "clear", "done"),
        "good": ("yes", "yeah", "yep", "okay", "good", "all good", "works", "fine", "tight"),
        "bad": (
            *("no", "nope", "doesn't", "bad", "broken", "loose", "missing", "doesn't work"),
            *("not good", "no good", "not okay", "not fine", "not tight"),
        ),
        "done": ("roger", "copy", "got it"),
        "no": "no",
        "negative": "negative",
        "affirm": "affirm",
        "in order": "in order",
    },
    "es": {
        "start": ("listo", "despejado", "listo"),
        "good": ("sí", "bien", "todo bien", "funciona"),
        "bad": ("no", "mal", "está mal", "roto", "flojo", "falta", "no funciona", "no está bien"),
        "done": ("recibido", "entendido"),
        "no": "no",
        "negative": "negativo",
        "affirm": "afirmativo",
        "in order": "en orden",
    },
}
EACH = [(name, word) for name in WORDS for word in WORDS[name]["good"]]
EACH_BAD = [(name, word) for name in WORDS for word in WORDS[name]["bad"]]
LANGUAGES = {name: Language.load(language=name) for name in WORDS}


@pytest.fixture
def at_leaf(new_talk: Callable[..., Talk]) -> Callable[[str], Talk]:
    """Begins a conversation, and leads it to the first step that asks yes or no."""

    def begin(lang: str) -> Talk:
        if lang == "en":
            talk = new_talk("doubtful")
        else:
            sheet = SHEET.model_copy(update={"language": "es"})
            state = State(
                procedure=parse_procedure(SPANISH, "small.toml", "0" * 64),
                limits=load_limits("a156.19"),
                progress=Progress(job=Job.open(sheet)),
            )
            talk = Talk(state=state, language=LANGUAGES["es"])
            talk.begins("doubtful")
        talk.says(*WORDS[lang]["start"])
        assert talk.state.progress.at == LEAF
        return talk

    return begin


def facts(talk: Talk) -> list[tuple[str, str]]:
    return [(str(b.fact.subject), b.fact.value) for b in talk.of(ev.FactAccepted)]


@pytest.mark.parametrize(("lang", "said"), EACH)
def test_a_good_word_answers_a_step_that_asks_yes_or_no(at_leaf, lang, said):
    talk = at_leaf(lang)
    talk.says(said)
    assert talk.state.progress.at == "swings-free:right leaf"
    assert facts(talk) == [], "it is said back first"
    talk.says(said)
    assert facts(talk) == [("left leaf", "in_order")]


@pytest.mark.parametrize(("lang", "said"), EACH_BAD)
def test_a_bad_word_is_read_back_as_the_bad_case(at_leaf, lang, said):
    talk = at_leaf(lang)
    talk.says(said)
    assert isinstance(talk.state.pending, FactQuestion)
    talk.says(WORDS[lang]["affirm"])
    assert facts(talk) == [("left leaf", "not_in_order")]


@pytest.mark.parametrize(("lang", "said"), EACH_BAD)
def test_a_bad_word_accepts_nothing_that_was_said_back_before_its_own_affirm(at_leaf, lang, said):
    talk = at_leaf(lang)
    talk.says(WORDS[lang]["in order"], said)
    assert facts(talk) == [] and talk.state.echo is not None
    talk.says(WORDS[lang]["affirm"])
    assert facts(talk) == [("left leaf", "in_order"), ("right leaf", "not_in_order")]


@pytest.mark.parametrize("lang", WORDS)
def test_a_no_that_was_meant_for_what_was_said_back_is_not_lost(at_leaf, lang):
    talk, words = at_leaf(lang), WORDS[lang]
    talk.says(words["in order"], words["no"])
    talk.says(words["no"])
    assert talk.state.echo is None and talk.state.progress.at == LEAF
    question = talk.state.pending
    assert isinstance(question, FactQuestion)
    assert [fact.value for fact in question.facts] == ["in_order"]
    talk.says(words["no"])
    assert facts(talk) == [] and talk.state.pending is None
    assert talk.state.progress.at == LEAF


@pytest.mark.parametrize("lang", WORDS)
def test_negative_alone_takes_back_what_was_said_back(at_leaf, lang):
    talk, words = at_leaf(lang), WORDS[lang]
    talk.says(words["in order"], words["negative"])
    assert facts(talk) == [] and talk.state.pending is None
    assert talk.state.progress.at == LEAF


def test_no_takes_back_what_was_said_back_where_the_step_asks_for_something_else(new_talk):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "yes", "yes", "left hand", "right hand", "six point two")
    assert talk.state.echo is not None
    talk.says("no")
    assert talk.state.echo is None and talk.state.progress.job.readings == ()


@pytest.mark.parametrize("said", ["okay", "good", "fine"])
def test_okay_to_a_bad_case_that_was_read_back_makes_it_neither_bad_nor_good(at_leaf, said):
    talk = at_leaf("en")
    talk.says("not in order")
    assert talk.says(said) == ["Say affirm or negative."]
    assert facts(talk) == []
    assert [fact.value for fact in talk.state.pending.facts] == ["not_in_order"]


def test_loose_replaces_a_good_case_that_was_read_back(at_leaf):
    talk = at_leaf("en")
    talk.says("in order", "negative", "in order")  # a value taken back: affirm is asked for
    assert talk.says("loose") == ["Left leaf, swings freely, not OK."]


@pytest.mark.parametrize("lang", WORDS)
def test_roger_ends_a_step_that_is_done(new_talk, lang):
    for said in WORDS[lang]["done"]:
        assert LANGUAGES[lang].parse(said) == Word(kind="done", everyday=True)
    talk = new_talk("doubtful")
    talk.says("done", "clear", "roger")
    assert talk.state.progress.at == LEAF


# --- life-critical steps


@pytest.mark.parametrize(
    "said", ["yes", "yeah", "okay", "good", "roger", "copy", "got it", "affirm"]
)
def test_no_everyday_word_passes_a_lock_out_or_a_caution(new_talk, said):
    talk = new_talk("doubtful")
    assert talk.says(said) == ["Say done when it is done."]
    talk.says("done", said)
    assert talk.state.progress.at == "learn"
    assert not talk.state.progress.cautioned


OWN = {
    "en": {
        "power-off": ("locked out", ("no", "not locked out", "it isn't locked out", "fail")),
        "proven-dead": (
            "proved dead",
            *[("still live", "no", "not dead", "not proved dead", "it's hot", "still on")],
        ),
        "others": ("done", "affirm", "yes", "okay", "good", "clear", "pass", "roger", "next"),
    },
    "es": {
        "power-off": ("bloqueado", ("no", "no está bloqueado", "mal", "falla")),
        "proven-dead": (
            "energía cero",
            ("hay corriente", "tiene voltaje", "no", "no hay energía cero"),
        ),
        "others": ("listo", "afirmativo", "sí", "bien", "despejado", "cumple", "recibido"),
    },
}


def at_own_word(lang: str, step: str) -> Talk:
    """A visit that waits for the word of a lock-out or of dead wires."""
    talk, _ = at_the_door(TOLD, "controller-replaced-single", lang)
    enter(talk, step)
    if step == "proven-dead":
        talk.says(WORDS[lang]["start"][1])
    return talk


@pytest.mark.parametrize("step", ["power-off", "proven-dead"])
@pytest.mark.parametrize("lang", WORDS)
def test_a_lock_out_and_dead_wires_end_by_their_own_word_alone(lang, step):
    talk = at_own_word(lang, step)
    own, bad = OWN[lang][step]
    other = OWN[lang]["power-off" if step == "proven-dead" else "proven-dead"][0]
    for said in (*OWN[lang]["others"], other, *bad):
        talk.says(said)
        assert talk.state.progress.at == step and step not in talk.state.progress.ended, said
    talk.says(own)
    assert talk.state.progress.ended[step] == "done"


@pytest.mark.parametrize("step", ["power-off", "proven-dead"])
@pytest.mark.parametrize("lang", WORDS)
def test_their_bad_case_says_what_to_do_first_and_is_kept(lang, step):
    talk = at_own_word(lang, step)
    w = talk.state.words
    warning = w.say("still_live_stop" if step == "proven-dead" else "not_locked_yet")
    for nth, said in enumerate(OWN[lang][step][1], 1):
        assert warning in talk.says(said), said
        notes = talk.of(ev.NoteKept)
        assert len(notes) == nth and (notes[-1].text, notes[-1].step_key) == (said, step)


def test_a_bad_case_that_is_not_heard_has_other_words(lang="en"):
    talk = at_own_word(lang, "proven-dead")
    spoken = [line for _ in range(3) for line in talk.says("nice weather today")]
    assert any("still hot" in line for line in spoken), spoken


@pytest.mark.parametrize("lang", WORDS)
def test_dead_wires_are_proved_after_the_caution(lang):
    talk, _ = at_the_door(TOLD, "controller-replaced-single", lang)
    enter(talk, "proven-dead")
    talk.says(OWN[lang]["proven-dead"][0])
    assert "proven-dead" not in talk.state.progress.ended


@pytest.mark.parametrize("lang", WORDS)
def test_their_words_answer_nothing_else(lang):
    talk, _ = at_the_door(TOLD, "controller-replaced-single", lang)
    for step in ("ladder-safe", "swings-free:left leaf", "learn-path-clear", "width:left leaf"):
        enter(talk, step)
        before = talk.state.progress
        for said in ("power-off", "proven-dead"):
            talk.says(OWN[lang][said][0], *OWN[lang][said][1][:1])
            if talk.state.pending is not None:
                talk.says(WORDS[lang]["negative"])
        assert talk.state.progress.ended == before.ended, step


@pytest.mark.slow
@pytest.mark.parametrize("lang", WORDS)
def test_the_steps_on_which_a_life_hangs_have_their_own_word(lang):
    own = {
        step.id
        for name in shipped_procedures(lang)
        for step in load_procedure(name, language=lang).steps
        if has_own_word(step)
    }
    assert own >= {
        *("people-safe", "ladder-safe", "power-off", "battery-off", "proven-dead", "power-on"),
        *("learn-path-clear", "learn", "motors-off", "fire-release", "each-way-out"),
    }
    assert not own & {"swings-free", "plate-opens", "latches", "wired", "way-clear"}


@pytest.mark.parametrize(("lang", "word"), [("en", "yes"), ("es", "sí")])
def test_yes_does_not_pass_the_fire_release_and_no_is_its_bad_case(lang, word):
    told = TOLD.replace("fire_rated = false", "fire_rated = true")
    talk, _ = at_the_door(told, "yearly-service", lang)
    enter(talk, "fire-release")
    for said in (word, *WORDS[lang]["good"]):
        talk.says(said)
        assert talk.state.pending is None and facts(talk) == []
    talk.says("no")
    assert isinstance(talk.state.pending, FactQuestion)
    assert talk.state.pending.is_bad


# --- the language


def assents(meaning: Meaning | None) -> bool:
    """Whether an utterance agrees to what was read back."""
    return isinstance(meaning, Word) and meaning.kind in ("affirm", "done")


def refuses(meaning: Meaning | None) -> bool:
    if isinstance(meaning, Choice):
        return meaning.value == "not_in_order"
    return isinstance(meaning, Word) and meaning.kind == "negative"


REFUSALS = {
    name: [text for text in every_sentence(language, "answer") if refuses(language.parse(text))]
    for name, language in LANGUAGES.items()
}


@pytest.mark.slow
@given(st.data())
def test_no_part_of_a_refusal_is_an_assent(data):
    """Whatever is lost of a refusal in noise, at its beginning or its end, nothing agrees."""
    name = data.draw(st.sampled_from(sorted(REFUSALS)))
    words = data.draw(st.sampled_from(REFUSALS[name])).split()
    begin = data.draw(st.integers(0, len(words) - 1))
    end = data.draw(st.integers(begin + 1, len(words)))
    assert not assents(LANGUAGES[name].parse(" ".join(words[begin:end])))


@pytest.mark.parametrize("name", LANGUAGES)
def test_right_and_correct_are_no_yes(name):
    language = LANGUAGES[name]
    for said in {"en": ("right", "correct"), "es": ("derecha", "correcto")}[name]:
        meaning = language.parse(said)
        assert not assents(meaning)
        assert not (isinstance(meaning, Choice) and meaning.value == "in_order")
