"""The tool's own sentences in English. Values come in already as words."""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.grammar.words import measure_words, quantity_words, reading_words
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Fact
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Measure
from handsfree.procedure.step import Step

SAY_AGAIN = "Say again."
AFFIRM_OR_NEGATIVE = "Say affirm or negative."
SPELL_OR_TYPE = "Spell the number digit by digit, or type it on the keyboard."
NOTHING_WAITS = "Nothing waits for an answer. To take back the last reading, say withdraw that."
DROPPED = "Dropped."
STANDING_BY = "Standing by. Say carry on."
STOPPED = (
    "Stopped. I can not stop the door. If it moves, turn the operator off. "
    "When it is safe, say carry on."
)
NO_CLOCK = (
    "I can not time by ear on this visit. Take the time with a stopwatch and say the reading."
)
NOTE_GO_AHEAD = "Go ahead with the note."
NOTE_KEPT = "Note kept."
WHAT_IS_WRONG = "Say in a few words what is wrong."
SKIP_REASON = "Skip this step. Say the reason, or disregard."
NO_SKIP = "This step can not be skipped."
WHICH_QUANTITY = "Say what was measured as well, for example: left leaf opening time six point two."
WITHDRAWN = "Withdrawn."
WHICH_LEAF = "Which leaf, left or right?"
NOTHING_TO_WITHDRAW = "There is no reading to withdraw."
NO_LIMIT = "No limit belongs to this step."
FILED = "Filed."
KEPT = "It stays."
NOTHING_READ = "Nothing was read for that yet."
FIRST_ANSWER = "First answer this."
ALWAYS = (
    "At any time: say again, go back, skip, what is left, what is the limit, why, "
    "read back, withdraw that, note, stand by, or stop."
)
ALL_WITHIN = "Every reading that was judged is within its limit."
NOTHING_WRONG = "Nothing was found out of order, and nothing was measured against a limit."
RECORDED = "Recorded as it is."
FIRST_STEP = "This is the first step."


def measure(value: Measure) -> str:
    """'six point two seconds'."""
    return measure_words(value.value, value.unit)


def readback(subjects: Sequence[Subject], which: Quantity, value: Measure) -> str:
    """'Left leaf, opening time, six point two seconds.'"""
    who = Subject.BOTH_LEAVES if len(subjects) > 1 else subjects[0]
    return sentence(reading_words(who, which, value.value, value.unit))


def read_reading(reading: Reading) -> str:
    """An accepted reading as it is read back on request."""
    return readback((reading.subject,), reading.quantity, reading.measure)


def withdrawal(reading: Reading) -> str:
    """The question before a reading is taken back."""
    return f"Withdraw: {read_reading(reading)} Is it so?"


def fact_readback(fact: Fact, say: str) -> str:
    """'Motor one, left leaf.'"""
    name = fact.name.replace("_", " ")
    about = "" if fact.subject is Subject.OPENING else f"{fact.subject}, "
    return sentence(f"{about}{name}, {say}")


def challenge(why: str, said: str) -> str:
    """A fact that contradicts another one is asked again with the reason."""
    return f"{said} But {why}. Look again. Is it so?"


def implausible(which: Quantity, value: Measure) -> str:
    """The plausible range, and the question for the value."""
    facts = QUANTITIES[which]
    low = measure(Measure(value=facts.low, unit=facts.unit))
    high = measure(Measure(value=facts.high, unit=facts.unit))
    return (
        f"{sentence(measure(value))} The usual {facts.spoken} is from {low} to {high}. "
        "Say the value again."
    )


def wrong_unit(which: Quantity) -> str:
    """A unit that does not fit its quantity."""
    facts = QUANTITIES[which]
    return f"That unit does not fit. Give the {facts.spoken} as {facts.family}."


def no_such(subject: Subject) -> str:
    """A leaf, motor or plate that this opening does not have."""
    return f"This opening has no {subject}."


def waits_for(step: Step) -> str:
    """The shortest example of what fits a step."""
    or_skip = ", or skip" if step.may_skip else ""
    match step.waits:
        case "reading" if step.quantity is not None:
            return f"Say the {quantity_words(step.quantity)} as a number{or_skip}."
        case "choice":
            return f"Say {_listed([option.say for option in step.options])}."
        case "observation":
            return "Say in order, or not in order."
        case "caution":
            return f"Say {step.word}, when it is so."
        case _:
            return f"Say done, when it is done{or_skip}."


def wants_caution_word(word: str) -> str:
    """How a caution is answered."""
    return f"Say {word}, when it is so."


def wants_word(word: str) -> str:
    """A caution was answered by another word than its own."""
    return f"This wants its own word. Say {word}, when it is so."


def needs_value(step: Step) -> str:
    """'Done' was said where a reading is wanted."""
    return f"The reading is missing. {waits_for(step)}"


def finding(found: Finding) -> str:
    """A finding as spoken: passing takes one word, failing the whole story."""
    if found.verdict is Verdict.PASS:
        return "Pass."
    head = {
        Verdict.FAIL: "Fail.",
        Verdict.TOO_CLOSE: "Too close to call.",
        Verdict.NOT_JUDGED: "Not judged.",
    }[found.verdict]
    if found.binding is Binding.RECOMMENDATION:
        head = "A recommendation."
    return " ".join(part for part in (head, sentence(found.why), sentence(found.advice)) if part)


def adjust(step: Step, subject: Subject) -> str:
    """What to turn before the value is measured again."""
    what = (step.adjust or "adjust").format(subject=subject)
    return f"{sentence(what)} Then measure again and say the new reading."


def measure_again() -> str:
    """After a reading that is too close to call."""
    return "Measure once more, or say next to leave it."


def position(index: int, count: int, stage: str, prompt: str) -> str:
    """Where the visit stands."""
    return f"Step {index} of {count}, {stage}. {prompt}"


def remaining(counts: Sequence[tuple[str, int]]) -> str:
    """What is left, by stage."""
    total = sum(count for _, count in counts)
    if not total:
        return "Nothing is left."
    return sentence(
        f"{total} steps are left: "
        + ", ".join(f"{title}, {count}" for title, count in counts if count)
    )


def short(found: Finding) -> str:
    """A finding by its name: 'left leaf, opening time'."""
    return f"{found.subject}, {found.rule}"


def defect(fact: Fact) -> str:
    """An observation that is not in order, by its name: 'left leaf, swings freely'."""
    return f"{fact.subject}, {fact.name.replace('_', ' ')}"


def closing(wrong: Sequence[str], close: Sequence[str], skipped: int, *, judged: bool) -> str:
    """The last words of a visit; ``judged`` when there is any reading with a verdict."""
    parts = ["The visit is complete."]
    if wrong:
        parts.append(sentence(f"Not in order: {'; '.join(wrong)}"))
    if close:
        parts.append(sentence(f"Too close to call: {'; '.join(close)}"))
    if not wrong and not close:
        parts.append(ALL_WITHIN if judged else NOTHING_WRONG)
    if skipped:
        parts.append(f"{skipped} steps were skipped.")
    return " ".join(parts)


def resumed(done: int, count: int) -> str:
    """The first words after a break."""
    return f"The visit goes on. {done} of {count} steps are over."


def readability(grade: int, snr_db: float | None) -> str:
    """The answer to 'how do you read', readability one to five."""
    words = ("one", "two", "three", "four", "five")[grade - 1]
    if snr_db is None:
        return f"I read you {words}."
    return f"I read you {words}. Your voice stands {round(snr_db)} decibels over the noise."


def sentence(text: str) -> str:
    """The text with a capital and a full stop; empty text stays empty."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".?!" else ".")


def _listed(items: Sequence[str]) -> str:
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} or {items[-1]}"
