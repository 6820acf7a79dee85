"""The vocabulary row by row, and rules for all sentences."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from handsfree.data import data_folder
from handsfree.errors import GrammarError
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, family_of
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Correction, ReadingSaid, ReadingsSaid

FIXED_WORDS = {
    "affirm": ["affirm", "affirmative", "yes"],
    "correct": ["correct", "that is correct"],
    "negative": ["negative", "no", "wrong", "that is wrong", "incorrect", "not correct"],
    "clear": ["clear", "all clear", "it is safe"],
    "disregard": ["disregard", "disregard that", "never mind", "scratch that"],
    "say_again": ["say again", "say that again", "repeat", "repeat that"],
    "stand_by": ["stand by", "pause", "wait"],
    "carry_on": ["carry on", "resume", "continue"],
    "how_do_you_read": ["how do you read", "radio check", "sound check"],
    "where_am_i": ["where am i", "where are we"],
    "what_is_left": ["what is left", "what remains"],
    "what_is_the_limit": ["what is the limit"],
    "why": ["why"],
    "help": ["help", "what can i say"],
    "done": ["done", "next", "finished"],
    "skip": ["skip", "skip this", "skip this step"],
    "go_back": ["go back", "back"],
    "withdraw": ["withdraw that", "withdraw", "take that back"],
    "note": ["note", "note the frame is bent at the top", "note [unk] [unk]"],
    "cancel_clock": ["cancel the clock", "cancel clock"],
    "stop": ["stop", "stop stop stop"],
    "speak_less": ["speak less"],
    "speak_more": ["speak more"],
    "slower": ["slower", "speak slower"],
    "faster": ["faster"],
    "louder": ["louder"],
    "softer": ["softer"],
    "done_later": ["done later"],
    "not_applicable": ["not applicable", "does not apply"],
    "refused": ["refused by owner", "refused by the owner"],
    "put_right": ["put right"],
    "measure_again": ["measure again", "measure it again"],
    "tagged_out": ["taken out of service", "out of service", "off and tagged", "tagged"],
    "locked_out": ["locked out"],
    "not_locked": ["not locked out", "it isn't locked out"],
    "proved_dead": ["proved dead"],
    "still_live": [
        "still live",
        "it's live",
        "still hot",
        "still on",
        "not dead",
        "isn't proved dead",
    ],
    "accepted": ["accepted by owner", "accepted by the owner"],
}


@pytest.mark.slow
def test_the_shipped_grammar_is_read_once_and_another_whenever_it_is_asked_for() -> None:
    assert Language.load() is Language.load()
    assert Language.load() is not Language.load(language="es")
    folder = data_folder("grammars") / "en"
    assert Language.load(folder) is not Language.load(folder)


@pytest.mark.parametrize(
    ("kind", "said"), [(k, s) for k, says in FIXED_WORDS.items() for s in says]
)
def test_words_with_a_fixed_meaning(language: Language, kind: str, said: str):
    everyday = {"everyday": True} if said in ("yes", "no") else {}
    assert language.parse(said).model_dump() == {"kind": kind, **everyday}


@pytest.mark.parametrize(
    ("said", "subject", "quantity", "value", "unit"),
    [
        ("left leaf opening time six point two seconds", "left leaf", "opening_time", "6.2", "s"),
        ("the left leaf opening time is six point two", "left leaf", "opening_time", "6.2", "s"),
        ("opening time six point two", None, "opening_time", "6.2", "s"),
        ("opening six point two", None, "opening_time", "6.2", "s"),
        ("time to backcheck six", None, "opening_time", "6", "s"),
        ("opening to backcheck six", None, "opening_time", "6", "s"),
        ("right leaf total opening time eight", "right leaf", "total_opening_time", "8", "s"),
        ("full open time eight", None, "total_opening_time", "8", "s"),
        ("hold open time five", None, "hold_open_time", "5", "s"),
        ("hold time five", None, "hold_open_time", "5", "s"),
        ("closing time four", None, "closing_time", "4", "s"),
        ("close time four", None, "closing_time", "4", "s"),
        ("latching time one point six", None, "latching_time", "1.6", "s"),
        ("latch time one point six", None, "latching_time", "1.6", "s"),
        ("backcheck angle seventy", None, "backcheck_angle", "70", "deg"),
        ("left leaf backcheck seventy degrees", "left leaf", "backcheck_angle", "70", "deg"),
        ("both leaves leaf width thirty six inches", "both leaves", "leaf_width", "36", "in"),
        ("door width nine hundred fourteen millimeters", None, "leaf_width", "914", "mm"),
        ("left leaf height two thousand one hundred", "left leaf", "leaf_height", "2100", None),
        ("left leaf weight one twenty five pounds", "left leaf", "leaf_weight", "125", "lb"),
        ("weight sixty kilos", None, "leaf_weight", "60", "kg"),
        ("opening force twelve pounds", None, "opening_force", "12", "lbf"),
        ("closing force sixty seven newtons", None, "closing_force", "67", "N"),
        ("force to release the latch nine", None, "release_force", "9", None),
        ("release force nine pounds of force", None, "release_force", "9", "lbf"),
        ("force to set in motion eleven", None, "set_in_motion_force", "11", None),
        ("force to open fully eight", None, "open_fully_force", "8", None),
        ("left plate height forty two inches", "left plate", "plate_height", "42", "in"),
        ("plate height forty two", None, "plate_height", "42", None),
        ("right plate distance four feet", "right plate", "plate_distance", "4", "ft"),
        ("near side sign height fifty inches", "near side", "sign_height", "50", "in"),
        ("far side fifty inches", "far side", None, "50", "in"),
        ("the opening clear width thirty four", "opening", "clear_width", "34", None),
        ("cycles ten", None, "cycles", "10", "1"),
        ("next service in twelve months", None, "next_service", "12", "month"),
        ("six point two", None, None, "6.2", None),
        ("six point two seconds", None, None, "6.2", "s"),
        ("ten times", None, None, "10", "1"),
        ("twelve months", None, None, "12", "month"),
        ("twelve pounds", None, None, "12", "lb"),
        ("twelve pounds force", None, None, "12", "lbf"),
        ("left leaf six point two", "left leaf", None, "6.2", None),
    ],
)
def test_readings(language: Language, said, subject, quantity, value, unit):
    reading = language.parse(said)
    assert reading == ReadingSaid(
        subject=subject, quantity=quantity, value=Decimal(value), unit=unit
    )
    assert language.parse(f"correction {said}") == Correction(reading=reading)


def test_open_time_is_marked_as_ambiguous(language: Language):
    open_time = language.parse("left leaf open time six")
    assert (open_time.quantity, open_time.open_time) == (Quantity.OPENING_TIME, True)
    assert not language.parse("left leaf opening time six").open_time


@pytest.mark.parametrize(
    ("said", "value", "noun"),
    [
        ("left", "left", None),
        ("right leaf", "right", "leaf"),
        ("left hand", "left", "hand"),
        ("right side", "right", "side"),
        ("both leaves", "both", "leaf"),
        ("push", "push", None),
        ("pull", "pull", None),
        ("single leaf", "single", None),
        ("pair", "pair", None),
        ("swings the same way", "same_way", None),
        ("same way", "same_way", None),
        ("double egress", "double_egress", None),
        ("label", "label", None),
        ("scale", "scale", None),
        ("estimate", "estimate", None),
        ("in order", "in_order", None),
        ("as it should be", "in_order", None),
        ("not in order", "not_in_order", None),
        ("not as it should be", "not_in_order", None),
        ("defective", "not_in_order", None),
        ("none", "none", None),
        ("latch", "latch", None),
        ("strike", "strike", None),
    ],
)
def test_choices(language: Language, said: str, value: str, noun: str | None):
    assert language.parse(said).model_dump() == {"kind": "choice", "value": value, "noun": noun}


@pytest.mark.parametrize(
    ("said", "subject", "name", "value"),
    [
        ("motor one left leaf", "motor one", "leaf", "left"),
        ("motor one drives the left leaf", "motor one", "leaf", "left"),
        ("motor two right hand", "motor two", "hand", "right"),
        ("left leaf hinges left", "left leaf", "hinge_side", "left"),
        ("left leaf hinged on the right", "left leaf", "hinge_side", "right"),
        ("right leaf push", "right leaf", "action", "push"),
        ("right leaf weight from the label", "right leaf", "weight_source", "label"),
    ],
)
def test_facts(language: Language, said: str, subject: str, name: str, value: str):
    expected = {"kind": "fact", "subject": subject, "name": name, "value": value}
    assert language.parse(said).model_dump() == expected


@pytest.mark.parametrize(
    ("said", "subject", "quantity"),
    [
        ("read back", None, None),
        ("read back all", None, None),
        ("read back left leaf", "left leaf", None),
        ("read back opening time", None, "opening_time"),
        ("read back right leaf closing time", "right leaf", "closing_time"),
        ("read back motor one", "motor one", None),
        ("read back the opening", "opening", None),
        ("read back left plate height", "left plate", "plate_height"),
    ],
)
def test_read_back(language: Language, said: str, subject: str | None, quantity: str | None):
    expected = {"kind": "read_back", "subject": subject, "quantity": quantity}
    assert language.parse(said).model_dump() == expected


def test_start_the_clock(language: Language):
    assert language.parse("start the clock").model_dump(exclude_none=True) == {
        "kind": "start_clock"
    }
    assert language.parse("start the clock left leaf").subject is Subject.LEFT_LEAF


def test_several_readings_in_one_breath(language: Language):
    said = language.parse("left leaf opening time six point two and closing time five")
    assert isinstance(said, ReadingsSaid)
    assert [(r.subject, r.quantity, r.value) for r in said.readings] == [
        (Subject.LEFT_LEAF, Quantity.OPENING_TIME, Decimal("6.2")),
        (Subject.LEFT_LEAF, Quantity.CLOSING_TIME, Decimal(5)),
    ]
    pair = language.parse("closing time 5 s right leaf closing time 5.1 s latching time 2 s")
    assert [r.subject for r in pair.readings] == [None, Subject.RIGHT_LEAF, Subject.RIGHT_LEAF]
    assert language.parse("correction opening time six closing time five").kind == "readings"


@pytest.mark.parametrize(
    "said",
    [
        # Heard in noise for 'fifty point eight', 'ninety point eight newtons', 'leaf height nine'.
        "set in motion two height eight",
        "opening force niner point eight weight ten",
        "weight eight height nine point one millimeters",
        *("left leaf opening time five width six", "leaf width thirty six inches height eighty"),
        *("opening force five weight six", "closing time five height six closing time two"),
    ],
)
def test_a_name_of_one_syllable_after_a_number_is_no_further_reading(language: Language, said):
    """'Point' was heard as 'height' and 'weight'."""
    assert language.parse(said) is None


@pytest.mark.parametrize("between", ["and", "left leaf", "and left leaf", "both leaves", "leaf"])
def test_with_and_or_its_leaf_it_is_one(language: Language, between):
    said = language.parse(f"left leaf width thirty six {between} height eighty four")
    assert [(r.quantity, r.value) for r in said.readings] == [
        (Quantity.LEAF_WIDTH, Decimal(36)),
        (Quantity.LEAF_HEIGHT, Decimal(84)),
    ]


def test_between_two_numbers_stands_no_name_as_short_as_point(language: Language):
    """Over the whole automaton: a digit, one word, a digit, where that word is a name."""
    arcs = language.automaton().arcs
    digits = {"one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
    after = {to for _, word, to in arcs if word in digits}
    before = {at for at, word, _ in arcs if word in digits}
    one_word = {word for at, word, to in arcs if at in after and to in before} - digits
    assert {"point", "decimal", "oh"} <= one_word
    assert not one_word & {"width", "height", "weight"}


def test_go_to_a_stage(language: Language):
    assert language.parse("go to the force checks").model_dump() == {
        "kind": "go_to",
        "stage": "forces",
    }


def test_an_answer_for_both(language: Language):
    said = language.parse("both leaves in order")
    assert (said.value, said.both) == ("in_order", True)
    assert not language.parse("in order").both


@pytest.mark.parametrize(
    "said",
    [
        *("", "correction", "left leaf opening time", "nice weather today", "yes no", "[unk]"),
        *("right right", "that is right", "clear yes", "affirm six point two", "four kilos long"),
        *("six point two [unk]", "motor one six point two", "left leaf plate height four"),
    ],
)
def test_what_is_no_sentence_means_nothing(language: Language, said: str):
    assert language.parse(said) is None


@pytest.mark.parametrize("quantity", Quantity)
def test_a_unit_of_another_family_is_no_sentence(language: Language, quantity: Quantity):
    facts = QUANTITIES[quantity]
    for unit in set(Unit) - {Unit.STEP}:  # a setting's step has no name
        said = language.parse(f"{facts.spoken} six {language.wording.unit(unit, Decimal(6))}")
        if facts.family is Family.FORCE and unit is Unit.POUND:
            assert said.unit is Unit.POUND_FORCE
        elif facts.family is family_of(unit):
            assert (said.quantity, said.unit) == (quantity, unit)
        else:
            assert said is None, unit


@pytest.mark.slow
def test_no_sentence_has_two_meanings(language: Language):
    rng = Random(2)
    for _ in range(6000):
        said = language.sentence(rng)
        assert len(language.meanings(tuple(said.split()))) == 1, said


def test_a_grammar_without_its_public_rules_is_refused(tmp_path: Path):
    (tmp_path / "handsfree.jsgf").write_text("#JSGF V1.0;\ngrammar handsfree;\n<number> = one;")
    with pytest.raises(GrammarError, match="<utterance>"):
        Language.load(tmp_path)


@pytest.mark.parametrize("code", ["en", "es"])
def test_only_an_assent_that_shares_nothing_with_a_refusal_is_plain(code: str):
    language = Language.load(language=code)
    plain = {"en": ("affirm", "affirmative", "yes"), "es": ("afirmativo", "afirmo", "sí")}[code]
    half = {"en": (), "es": ("así es",)}[code]
    for text in (*plain, *half):
        assert language.parse(text).kind == "affirm"
        assert language.may_be_a_refusal(text) is (text in half), text
    # Half of 'incorrect' is no assent at all.
    half_of_a_refusal = {"en": ("correct", "that is correct"), "es": ("correcto", "es correcto")}
    for text in half_of_a_refusal[code]:
        assert language.parse(text).kind == "correct"
        assert language.may_be_a_refusal(text), text


@pytest.mark.slow
@pytest.mark.parametrize("code", ["en", "es"])
def test_an_answer_is_a_sentence_and_no_note(code: str):
    language = Language.load(language=code)
    answers, whole = language.automaton("answer"), language.automaton()
    rng = Random(4)
    for _ in range(300):
        assert whole.accepts(language.sentence(rng, "answer").split())
    assert not answers.accepts(["note" if code == "en" else "nota"])


@pytest.mark.parametrize(
    ("said", "meant"),
    [("it does not close", "stays_open"), ("it closes too slow", "opens_too_slow")],
)
def test_a_complaint_about_closing_is_one(language, said, meant):
    assert language.parse(said) == Choice(value=meant)
