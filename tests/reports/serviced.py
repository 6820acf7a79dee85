"""A finished visit at one door with everything that a record can show, walked in a conversation.

The door, the people and the controller are invented.
"""

from __future__ import annotations

from handsfree.job.opening import Swing
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.journal.controller_events import EntryEnded
from handsfree.journal.fault_events import FaultFound, FaultProved, FaultWorked
from handsfree.journal.paper_events import VisitFactKept
from handsfree.journal.reader import Verification
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.visit_record.visit_record import VisitRecord, record_of

from ..dialogue.technician import answer_to, opening, walk

HEAD = "5a" * 32
WHOLE = Verification(whole=True, lines=1, clips=0, recovered=0, head=HEAD)
BEGAN = "2100-03-05T03:40:00.000Z"
ZONE = "-05:00 EST"
"""Local time zone, in which it is still the evening of March 4."""
ENTRIES = (
    ("way", "entry 1", "way of opening", "push"),
    ("lock", "entry 2", "kind of lock", "strike, 0.5 s"),
    ("delay", "entry 3", "hold open", "6 s"),
    ("speed", "entry 4", "opening speed", "4"),
    ("check", "entry 5", "backcheck", "70°"),
    ("close", "entry 6", "closing speed", "4"),
)
NOTED = (
    ("arrival", ""),
    ("operator_serial", "OP-20417"),
    ("controller_serial", "C 88 104"),
    ("old_controller_serial", "C 12 006"),
    ("parts_used", "pivot, two washers"),
    ("gauge", "FG-12"),
    ("gauge_calibrated", "2099-11"),
    ("technician_certificate", "T-4471"),
    ("taken_over_by", "N. Quist"),
    ("departure", ""),
)


def serviced(
    swing: Swing = Swing.SINGLE,
    language: str = "en",
    *bodies: ev.Body,
    everything: bool = True,
    procedure: str = "yearly-service",
) -> VisitRecord:
    """Walks a procedure with a fault that is repaired; ``bodies`` are added before its end."""
    spoken = Language.load(language=language)
    walked = walk(
        spoken,
        load_procedure(procedure, language=language),
        opening(swing, everything),
        lambda state: answer_to(state, "slams"),
    )
    key = "left leaf/arm_loose"
    more: list[ev.Body] = [
        FaultFound(subject="left leaf", name="arm_loose"),
        FaultWorked(key=key, work="repaired", part="arm"),
        FaultProved(key=key, by="looked", what="Is that gone?"),
        *(
            EntryEnded(entry=entry, outcome="made", name=name, called=called, value=value)
            for entry, called, name, value in ENTRIES
        ),
        *(VisitFactKept(subject=Subject.OPENING, name=n, value=value) for n, value in NOTED),
        *bodies,
    ]
    told = [*walked.journal[:-1], *more, walked.journal[-1]]
    assert isinstance(told[0], ev.VisitOpened)
    door = told[0].sheet.opening.model_copy(update={"name": "west door"})
    who = {"reference": "HH-0418", "site": "Harbour Hall, clinic", "technician": "R. Almeda"}
    sheet = told[0].sheet.model_copy(update={**who, "opening": door})
    told[0] = told[0].model_copy(update={"zone": ZONE, "sheet": sheet})
    return record_of(
        (ev.Event(seq=n, at=BEGAN, body=body, prev="0" * 64) for n, body in enumerate(told, 1)),
        WHOLE,
    )
