"""Asks for a new job by voice; anything that cannot be said is typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from datetime import date, timedelta

from handsfree.cli.job_questions import refusal, sheet_of_options, spoken_day
from handsfree.cli.microphone_options import Live, open_microphone
from handsfree.cli.procedure_choice import procedure_titles
from handsfree.cli.terminal import echo
from handsfree.cli.transcript import Conversation
from handsfree.cli.visit_ending import visit_console
from handsfree.cli.visit_setup import in_its_language
from handsfree.errors import JobError
from handsfree.job.job import Sheet
from handsfree.job.opening import Swing
from handsfree.language.interpreter import Language
from handsfree.language.wording import Wording
from handsfree.settings import Settings
from handsfree.visit.spoken_question import SpokenQuestion

QUESTIONS = {
    "name": "new_name",
    "site": "new_site",
    "reference": "new_reference",
    "technician": "new_technician",
    "date": "new_date",
    "swing": "new_swing",
}
"""Questions, by the key of the job that they fill in."""
SWINGS = {
    Swing.SINGLE: "new_single",
    Swing.SAME_WAY: "new_same_way",
    Swing.DOUBLE_EGRESS: "new_double_egress",
}
"""Answers to how the door swings."""
_DAYS = 7
"""Days offered for the visit, starting today."""
_KNOWN = 5
"""Largest number of names offered from other jobs."""


class _Stopped(Exception):
    """The questions were stopped, or the input ended."""


@contextmanager
def spoken_question(w: Wording, settings: Settings, live: Live) -> Iterator[SpokenQuestion]:
    """Opens microphone, voice and keyboard for questions before a visit.

    Raises ModelError or SoundError.
    """
    # Slow to import, and the keyboard alone does not need them.
    from handsfree.recognition.port import Ears
    from handsfree.recognition.pre_visit_recognizer import before_visit_recognizer
    from handsfree.synthesis.mouth import open_mouth
    from handsfree.synthesis.port import PlaybackListener

    language = Language.load(language=w.language)
    with ExitStack() as stack:
        recognizer = before_visit_recognizer(language)
        clock = (recognizer, language.mark)
        ears: Ears = open_microphone(live, recognizer, clock, stack, lambda samples: None)
        mouth = open_mouth(
            voice_rate=settings.speech_rate,
            volume=settings.speech_volume,
            languages=w.voices,
            loudspeaker=live.loudspeaker,
            listener=ears if isinstance(ears, PlaybackListener) else None,
            patient=True,
        )
        stack.callback(mouth.close)
        if mouth.why_silent is not None:
            echo(w.say("printed_only", why=in_its_language(w, mouth.why_silent)), err=True)
        yield SpokenQuestion(ears, mouth, language, Conversation(visit_console(), w).line)


def interviewed_sheet(
    asked: SpokenQuestion,
    w: Wording,
    stated: Mapping[str, str],
    today: date,
    others: Sequence[Sheet],
) -> Sheet:
    """Builds the job sheet from spoken or typed answers; skips what is already ``stated``.

    Buildings and technicians of ``others`` are offered by number. 'Skip' leaves a question to the
    visit; only the name is needed. Raises JobError if the questions are stopped.
    """
    known = {"language": w.language, **stated}
    asked.tell(w.say("new_job"))
    try:
        for key in ("name", "site", "reference", "technician"):
            if key not in known:
                offered = _most_common(others, key)
                known[key] = _text(asked, w, key, offered)
        days = [today + timedelta(days=ahead) for ahead in range(_DAYS)]
        if "date" not in known:
            shown = [spoken_day(w, day, today) for day in days]
            chosen = _asked(asked, w, "date", shown, _refuses("date"))
            known["date"] = chosen if isinstance(chosen, str) else days[chosen].isoformat()
        names = [w.say(name) for name in SWINGS.values()]
        if isinstance(chosen := _asked(asked, w, "swing", names), int):
            known["swing"] = tuple(SWINGS)[chosen]
        if "procedure" not in known:
            titles = procedure_titles(w.language)
            chosen = _answered(asked.ask(w.say("which_procedure"), tuple(titles), skips=True))
            if isinstance(chosen, int):
                known["procedure"] = list(titles.values())[chosen]
    except _Stopped as error:
        way_out = "run it again, or name the job by options: handsfree new --help"
        raise JobError("no job file was written", way_out=way_out) from error
    return sheet_of_options({key: value for key, value in known.items() if value})


def _text(asked: SpokenQuestion, w: Wording, key: str, offered: Sequence[str]) -> str:
    chosen = _asked(asked, w, key, offered, _refuses(key), skips=key != "name")
    return offered[chosen] if isinstance(chosen, int) else chosen


def _asked(
    asked: SpokenQuestion,
    w: Wording,
    key: str,
    answers: Sequence[str] = (),
    refuse: Callable[[str], str] | None = None,
    *,
    skips: bool = True,
) -> int | str:
    return _answered(asked.ask(w.say(QUESTIONS[key]), answers, refuse=refuse, skips=skips))


def _answered(answer: int | str | None) -> int | str:
    if answer is None:
        raise _Stopped
    return answer


def _refuses(key: str) -> Callable[[str], str]:
    return lambda typed: refusal(key, typed)


def _most_common(others: Sequence[Sheet], key: str) -> tuple[str, ...]:
    """The building or technician names that other jobs use most often."""
    if key not in ("site", "technician"):
        return ()
    counted = Counter(named for sheet in others if (named := getattr(sheet, key)))
    return tuple(named for named, _ in counted.most_common(_KNOWN))
