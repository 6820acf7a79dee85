import re
from itertools import product
from pathlib import Path

import pytest

from handsfree.errors import ProcedureError
from handsfree.job.closed_lists import CHOICES, STAGES
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.language.interpreter import Language
from handsfree.language.meaning import GoTo, Word
from handsfree.language.syntax_tree import Tagged, walk
from handsfree.language.wording import languages
from handsfree.procedure.condition import CONDITIONS
from handsfree.procedure.loader import (
    SHIPPED,
    load_procedure,
    parse_procedure,
    shipped_procedures,
)
from handsfree.procedure.step import Procedure, Stage, Step
from handsfree.procedure.step_checks import CAUTION_WORDS

SMALL = """\
name = "small"
title = "A small visit"

[[stage]]
id = "times"
title = "times"

[[step]]
id = "path"
stage = "times"
prompt = "Say clear when the path is clear."
brief = "Path."
waits = "caution"
caution = "The leaf moves."
word = "clear"
why = "It is safer."

[[step]]
id = "side"
stage = "times"
applies = ["pair", "not sensors"]
for_each = "leaf"
prompt = "On which side hangs the {subject}?"
brief = "Side of the {subject}?"
waits = "choice"
fact = "hinge_side"
options = [
    { value = "left", say = "left" },
    { value = "right", say = "right" },
]
why = "It gives the hand."

[[step]]
id = "time"
stage = "times"
for_each = "leaf"
prompt = "Time the {subject}."
brief = "The {subject}?"
waits = "reading"
quantity = "opening_time"
attempts = 3
adjust = "slow the {subject}"
why = "It bounds the energy."
"""

GUIDE = (Path(__file__).parents[2] / "docs" / "procedures.md").read_text(encoding="utf-8")


def test_a_procedure_is_read_with_its_hash() -> None:
    procedure = parse_procedure(SMALL, "small.toml", "0" * 64)
    path, side, time = procedure.steps
    assert (path.caution, path.word) == ("The leaf moves.", "clear")
    assert side.applies == ("pair", "not sensors")
    assert [option.value for option in side.options] == ["left", "right"]
    assert time.quantity is Quantity.OPENING_TIME
    assert time.attempts == 3


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('name = "small"', "", 1, "'name' is missing"),
        ('name = "small"', 'name = "small', 1, "not valid TOML"),
        ('title = "A small visit"', "titel = 1", 2, "unknown key 'titel'"),
        ('title = "times"', "", 4, "stage 'times' has no 'title'"),
        ('id = "path"\n', "", 8, "step number 1 has no 'id'"),
        ('id = "side"', 'id = "path"', 19, "duplicate id 'path', first used on line 8"),
        ('id = "path"', 'id = "The Path"', 9, "not a plain name"),
        ('"path"\nstage = "times"', '"path"\nstage = "tims"', 10, "did you mean 'times'?"),
        ("brief", "breif", 12, "did you mean 'brief'?"),
        ('waits = "caution"', 'waits = "patience"', 13, "waits"),
        ('word = "clear"\n', "", 14, "caution without a word"),
        ('word = "clear"', 'word = "yes"', 15, "'yes', which is not a caution word"),
        ('caution = "The leaf moves."\n', "", 13, "waits for a caution but has none"),
        ('why = "It is safer."\n', "", 8, "no 'why'"),
        ("The leaf moves.", "The leaf moves at 3 seconds.", 14, "'3' in caution"),
        ('"not sensors"', '"not senors"', 21, "did you mean 'sensors'?"),
        ("hangs the {subject}", "hangs the {leaf}", 23, "unknown placeholder '{leaf}'"),
        ("hangs the {subject}", "hangs the {subject", 23, "unmatched brace"),
        ("Side of the {subject}?", "Side?", 24, "does not say which"),
        ('fact = "hinge_side"\n', "", 25, "a choice without a fact"),
        ('value = "left"', 'value = "top"', 27, "an option 'top'"),
        ('value = "left"', 'value = "push"', 27, "an option 'push'"),
        ('say = "left"', 'say = "L/R"', 27, "'/' in options"),
        ('quantity = "opening_time"\n', "", 39, "a reading without a quantity"),
        ('"opening_time"', '"open_time"', 40, "unknown quantity 'open_time'"),
        ("attempts = 3", "attempts = 0", 41, "attempts below 1"),
        ("attempts = 3", 'attempts = "many"', 41, "attempts"),
        ('adjust = "slow the {subject}"\n', "", 41, "attempts above 1 and adjust"),
        ("attempts = 3\n", "", 41, "attempts above 1 and adjust"),
        ('id = "times"\ntitle', 'id = "timing"\ntitle', 5, "unknown stage 'timing'"),
        ('"path"\nstage = "times"', '"path"\nstage = "forces"', 10, "small.toml does not list"),
        ('"opening_time"', '"opening_time"\nsetting = "speed"', 41, "unknown setting 'speed'"),
        ("slow the {subject}", "slow {setting}", 42, "does not say which"),
        ("It gives the hand", "It gives {setting}", 31, "has {setting} in why"),
        (
            "The leaf moves.",
            "Mind the LED.",
            14,
            "'LED' in caution would be spelled letter by letter",
        ),
        ("Say clear when", "Say clear " + 35 * "and ", 11, "prompt has 41 words"),
        ("Path.", 26 * "path " + ".", 12, "brief has 27 words"),
        ("A small visit", "Visit 1", 2, "'1' in title"),
    ],
)
def test_a_fault_is_named_with_file_line_and_reason(
    old: str, new: str, line: int, said: str
) -> None:
    assert old in SMALL
    with pytest.raises(ProcedureError) as caught:
        parse_procedure(SMALL.replace(old, new, 1), "small.toml", "0" * 64)
    assert caught.value.line == line
    assert str(caught.value).startswith(f"small.toml, line {line}: ")
    assert said in str(caught.value)


def test_a_reading_that_nothing_uses(monkeypatch: pytest.MonkeyPatch) -> None:
    unused = QUANTITIES[Quantity.OPENING_TIME].model_copy(update={"use": None})
    monkeypatch.setitem(QUANTITIES, Quantity.OPENING_TIME, unused)
    with pytest.raises(ProcedureError, match="which no check and no record uses") as caught:
        parse_procedure(SMALL, "small.toml", "0" * 64)
    assert caught.value.line == 40


def test_a_choice_without_options() -> None:
    without = re.sub(r"options = \[.*?\n\]\n", "", SMALL, flags=re.DOTALL)
    with pytest.raises(ProcedureError, match="a choice without options"):
        parse_procedure(without, "small.toml", "0" * 64)


def test_a_name_that_is_neither_shipped_nor_a_file_lists_what_is_shipped() -> None:
    with pytest.raises(ProcedureError, match="controller-replaced-pair"):
        load_procedure("controller-replaced")


def test_a_language_without_procedures_says_so() -> None:
    with pytest.raises(ProcedureError, match="no procedure ships in 'tlh'"):
        load_procedure("controller-replaced-pair", language="tlh")


def test_the_procedure_in_the_guide_is_sound() -> None:
    (example,) = (part for part in GUIDE.split("```") if part.startswith('toml\nname = "my-'))
    procedure = parse_procedure(example.removeprefix("toml"), "guide.toml", "0" * 64)
    ids = [step.id for step in procedure.steps]
    assert ids[:4] == ["people-safe", "ladder-safe", "keys-returned", "power-off"]


def test_the_guide_names_every_procedure() -> None:
    for name in shipped_procedures():
        assert f"`{name}`" in GUIDE, name


def test_a_file_of_ones_own(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(SMALL, encoding="utf-8")
    assert load_procedure(path).name == "small"
    path.write_bytes(SMALL.encode("utf-16"))
    with pytest.raises(ProcedureError, match="UTF-8"):
        load_procedure(path)


@pytest.fixture(params=product(languages(), shipped_procedures()), ids="-".join)
def shipped(request: pytest.FixtureRequest) -> Procedure:
    language, name = request.param
    return load_procedure(name, language=language)


SPANISH = """\
name = "corto"
title = "Una visita corta"
include = ["parts/make-safe.toml"]

[[stage]]
id = "safe"
title = "seguridad"

[[step]]
id = "speed"
stage = "safe"
for_each = "leaf"
prompt = "Lea {setting}."
brief = "Ahora, {setting}."
waits = "reading"
quantity = "opening_speed"
setting = "opening_speed"
why = "Queda en el registro."
"""


def test_a_text_in_another_language_takes_its_parts_and_names_its_settings() -> None:
    procedure = parse_procedure(SPANISH, "corto.toml", "0" * 64, "es")
    people, *_, speed = procedure.steps
    assert people.brief == "Cierre el paso a la gente."
    assert speed.prompt == "Lea la velocidad de apertura de la {subject}."


def test_every_shipped_sentence_can_be_spoken(shipped: Procedure) -> None:
    sentences = [stage.title for stage in shipped.stages] + [shipped.title]
    for step in shipped.steps:
        sentences += [step.prompt, step.brief, step.why, step.caution or "", step.adjust or ""]
    for sentence in sentences:
        bare = sentence.replace("{subject}", "left leaf").replace("{found}", "left leaf")
        assert re.fullmatch(r"([^\W\d_]|[ ,.?¿'-])*", bare), bare


def test_a_brief_prompt_is_brief_and_every_timing_is_adjusted(shipped: Procedure) -> None:
    for step in shipped.steps:
        assert len(step.brief.split()) <= 10, step.id
        judged = step.quantity is not None and step.quantity.endswith(("_time", "_force"))
        if judged and "found" not in step.id:
            assert step.attempts == 3, step.id


@pytest.mark.parametrize("language", languages())
def test_no_sentence_stands_in_two_files(language: str) -> None:
    """What two procedures share is a part of both."""
    files_of: dict[str, set[str]] = {}
    for file in (SHIPPED / language).rglob("*.toml"):
        for line in file.read_text(encoding="utf-8").splitlines():
            if line.startswith(("prompt", "brief", "caution", "why")):
                files_of.setdefault(line, set()).add(file.name)
    assert {line: files for line, files in files_of.items() if len(files) > 1} == {}


def test_every_word_of_a_caution_can_be_said() -> None:
    language = Language.load()
    for word in CAUTION_WORDS:
        assert language.parse(word) == Word.model_validate({"kind": word})


def test_every_stage_can_be_said_and_gone_to() -> None:
    rules = Language.load().grammar.rules.values()
    tags = {node.tag for rule in rules for node in walk(rule.expansion) if isinstance(node, Tagged)}
    said = {tag.partition("=")[2].strip() for tag in tags if tag.startswith("stage")}
    assert said == set(STAGES)
    language = Language.load()
    assert language.parse("go to the force checks") == GoTo(stage="forces")


def test_the_guide_explains_every_key_and_condition() -> None:
    names = (*Stage.model_fields, *Step.model_fields, *CONDITIONS, *Quantity, *STAGES, *CHOICES)
    for name in names:
        assert f"`{name}`" in GUIDE, name
