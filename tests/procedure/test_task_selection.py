import pytest

from handsfree.controllers.guide_loader import load_guide
from handsfree.job.job import Fact, Job, Sheet
from handsfree.job.opening import Activation, Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.quantity import SETTINGS
from handsfree.job.reading import Subject
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.procedure.step import Procedure
from handsfree.procedure.task_selection import applies, tasks

SINGLE = Opening(
    name="side door",
    seen_from="corridor",
    swing=Swing.SINGLE,
    leaves=(Leaf(name=Side.RIGHT),),
    motors=(Motor(number=1, leaf=Side.RIGHT),),
)
PAIR = SINGLE.model_copy(
    update={
        "swing": Swing.SAME_WAY,
        "leaves": (Leaf(name=Side.LEFT), Leaf(name=Side.RIGHT)),
        "motors": (Motor(number=1), Motor(number=2)),
    }
)
PAIR_ALONE = "controller-replaced-pair"
"""It keeps the steps of the recorded visit, which has no settings."""


def job(opening: Opening, **update: object) -> Job:
    changed = opening.model_copy(update=update)
    return Job.open(Sheet(reference="T", site="a test", technician="nobody", opening=changed))


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return load_procedure("controller-replaced-pair")


def keys(procedure: Procedure, job: Job) -> list[str]:
    return [task.key for task in tasks(procedure, job)]


def test_a_single_leaf_has_nothing_of_a_pair(procedure: Procedure) -> None:
    walked = keys(procedure, job(SINGLE))
    assert "opening-time:right leaf" in walked
    assert "motor-hand:motor one" in walked
    assert not {"swing", "latch-order", "motor-leaf:motor one"} & set(walked)
    assert not any("left leaf" in key or "motor two" in key for key in walked)


def test_a_pair_traces_two_motors_and_times_two_leaves(procedure: Procedure) -> None:
    walked = keys(procedure, job(PAIR))
    assert {"swing", "motor-leaf:motor one", "motor-leaf:motor two"} <= set(walked)
    assert {"opening-time:left leaf", "opening-time:right leaf"} <= set(walked)


@pytest.mark.parametrize(
    ("update", "more"),
    [
        ({"fire_rated": True}, {"fire-wires-marked", "fire-release"}),
        ({"sensors": True}, {"sensors-found", "sensor-wires-marked", "sensors-act"}),
        ({"astragal": True}, {"latch-order"}),
        ({"lock": Lock.LATCH}, {"latches:left leaf", "latches:right leaf"}),
        ({"power_fail_spring": True}, {"power-fails", "power-returns"}),
        ({"vestibule": True}, {"vestibule-passage", "vestibule-room"}),
        (
            {"lock": Lock.STRIKE},
            {
                *("latches:left leaf", "latches:right leaf"),
                *("strike-wires-marked", "strike-releases"),
            },
        ),
    ],
)
def test_what_is_fitted_adds_its_steps(
    procedure: Procedure, update: dict[str, object], more: set[str]
) -> None:
    assert set(keys(procedure, job(PAIR, **update))) - set(keys(procedure, job(PAIR))) == more


def test_an_opening_without_plates_has_no_plate_to_measure(procedure: Procedure) -> None:
    walked = keys(procedure, job(PAIR, activation=Activation.MANUAL_START))
    assert not any("plate" in key for key in walked)


def test_what_the_survey_finds_changes_the_steps_that_follow(procedure: Procedure) -> None:
    found = job(PAIR).with_fact(Fact(subject=Subject.OPENING, name="lock", value="strike"))
    assert "strike-releases" in keys(procedure, found)
    assert "strike-releases" not in keys(procedure, job(PAIR))


def test_one_leaf_is_finished_before_the_next(procedure: Procedure) -> None:
    walked = keys(procedure, job(PAIR))
    assert walked.index("latching-time:left leaf") < walked.index("backcheck-angle:right leaf")
    assert walked.index("latching-time:right leaf") < walked.index("opening-force:left leaf")


def test_a_limit_is_known_before_its_reading_is_judged(procedure: Procedure) -> None:
    walked = keys(procedure, job(PAIR))
    judged = walked.index("opening-time:left leaf")
    for needed in ("width:left leaf", "weight:left leaf", "backcheck-angle:left leaf"):
        assert walked.index(needed) < judged
    assert walked.index("plate-distance:right plate") < walked.index("hold-open-time:left leaf")


def test_the_path_is_clear_before_the_learn_cycle(procedure: Procedure) -> None:
    walked = keys(procedure, job(PAIR))
    assert walked[walked.index("learn") - 1] == "learn-path-clear"


def test_the_subject_is_spoken(procedure: Procedure) -> None:
    (task,) = (t for t in tasks(procedure, job(SINGLE)) if t.step.id == "opening-time")
    assert task.subject is Subject.RIGHT_LEAF
    assert "the right leaf" in task.prompt
    assert task.brief == "Opening time of the right leaf?"


def test_a_negated_condition(procedure: Procedure) -> None:
    step = procedure.steps[0].model_copy(update={"applies": ("not pair", "not lock")})
    assert applies(step, job(SINGLE))
    assert not applies(step, job(PAIR))
    assert not applies(step, job(SINGLE, lock=Lock.LATCH))


def complaint(value: str, **update: object) -> list[str]:
    """The steps of a complaint about a single leaf, searched by what was found."""
    asked = job(SINGLE, **update).with_fact(
        Fact(subject=Subject.OPENING, name="complaint", value=value)
    )
    return keys(load_procedure("complaint"), asked)


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("slams", "closing-found:right leaf"),
        ("stays_open", "hold-open-found:right leaf"),
        ("does_not_open", "opening-found-still:right leaf"),
        ("hits_people", "opening-force-found:right leaf"),
        ("will_not_latch", "latching-found:right leaf"),
    ],
)
def test_a_complaint_is_measured_as_found_then_searched_then_measured_anew(
    value: str, found: str
) -> None:
    walked = complaint(value)
    order = ["complaint", found, "opening-speed-found:right leaf", "complaint-gone"]
    order += [
        "opening-time:right leaf",
        "opening-force:right leaf",
        "opening-speed-left:right leaf",
    ]
    assert [key for key in walked if key in order] == order
    others = complaint("slams" if value != "slams" else "stays_open")
    assert found not in others


def test_a_branch_is_walked_after_the_task_that_led_to_it_and_about_its_leaf() -> None:
    procedure, pair = load_procedure("controller-replaced-pair"), job(PAIR)
    assert not [task for task in tasks(procedure, pair) if task.step.branch is not None]
    led = [task.key for task in tasks(procedure, pair, {"leaf-binds": "swings-free:right leaf"})]
    at = led.index("swings-free:right leaf")
    assert led[at : at + 3] == [
        "swings-free:right leaf",
        "leaf-freed:right leaf",
        "arm-fixed:right leaf",
    ]
    assert "leaf-freed:left leaf" not in led
    assert tasks(procedure, pair, {"leaf-binds": "not-there"}) == tasks(procedure, pair)


@pytest.mark.parametrize(
    "name", [name for name in shipped_procedures() if name not in ("daily-check", PAIR_ALONE)]
)
def test_settings_are_read_as_they_are_left_and_before_the_covers_are_on(name: str) -> None:
    walked = keys(load_procedure(name), job(PAIR))
    for setting in SETTINGS:
        key = f"{setting.replace('_', '-')}-left:right leaf"
        assert walked.index("latching-time:right leaf") < walked.index(key)
        assert walked.index(key) < walked.index("opened-up")


@pytest.mark.parametrize("name", [name for name in shipped_procedures() if name != "daily-check"])
def test_nothing_live_is_touched_before_it_is_proven_dead(name: str) -> None:
    walked = keys(load_procedure(name), job(PAIR, lock=Lock.LATCH))
    assert walked.index("people-safe") < walked.index("ladder-safe") < walked.index("power-off")
    dead, live = walked.index("proven-dead"), walked.index("power-on")
    by_hand = ("swings-free", "set-in-motion-force", "hinges", "motor-leaf", "wired", "installed")
    touched = [nth for nth, key in enumerate(walked) if key.split(":")[0] in by_hand]
    assert dead < min(touched) and max(touched) < live


def test_the_task_names_the_menu_with_its_leaf() -> None:
    procedure = load_procedure("yearly-service", load_guide("heron"))
    (task,) = (t for t in tasks(procedure, job(SINGLE)) if t.step.id == "opening-speed-found")
    assert task.brief == "As found, entry twenty one, opening speed, right leaf?"
