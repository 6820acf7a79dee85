"""The events for the paperwork of a visit: visit facts and photos."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from handsfree.job.reading import Subject
from handsfree.job.record import Count
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal.event_body import EventBody, Reported

PHOTO_NAME = r"[0-9]{6,9}\.jpg"
"""Regular expression for the file names of photos: the number of the event."""
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


def _refuse_unknown(name: str) -> None:
    if name not in VISIT_FACTS:
        raise ValueError(f"there is no visit fact '{name[:40]}'")


class VisitFactKept(EventBody):
    """A fact of visit_facts.toml was stated; the last value counts unless the fact has ``many``.

    ``value`` is a code, a date ('2026-03' or '2026-03-14'), the id of an answer, or typed words; ''
    for a moment, and for words kept only as sound. ``step_key`` is the current task, ``clip`` the
    sound of the value.
    """

    kind: Literal["visit_fact_kept"] = "visit_fact_kept"
    subject: Subject = Subject.OPENING
    name: str
    value: str = ""
    step_key: str | None = None
    clip: str | None = None

    @model_validator(mode="after")
    def _known(self) -> VisitFactKept:
        _refuse_unknown(self.name)
        VISIT_FACTS[self.name].refuse(self.subject, self.value)
        return self


class VisitFactWithdrawn(EventBody):
    """A fact was taken back; of a fact with ``many``, the last value."""

    kind: Literal["visit_fact_withdrawn"] = "visit_fact_withdrawn"
    subject: Subject = Subject.OPENING
    name: str

    @model_validator(mode="after")
    def _known(self) -> VisitFactWithdrawn:
        _refuse_unknown(self.name)
        return self


class PhotoKept(Reported):
    """A picture from the folder 'photos' was taken into the visit, without its metadata.

    ``file`` is in the folder 'pictures'; ``sha256`` and ``size`` (bytes) describe it.
    ``source_sha256`` is the hash of the original picture, ``called`` its file name. ``width`` and
    ``height`` are in pixels. ``taken_at`` is the camera's time ('2026-03-14T09:15:02') or None;
    ``step_key`` is the task during which it was announced.
    """

    kind: Literal["photo_kept"] = "photo_kept"
    file: Annotated[str, Field(pattern=f"^{PHOTO_NAME}$")]
    sha256: Sha256
    size: Count
    width: Annotated[int, Field(ge=1, le=100_000)]
    height: Annotated[int, Field(ge=1, le=100_000)]
    source_sha256: Sha256
    called: Annotated[str, Field(max_length=80)] = ""
    taken_at: str | None = None
    step_key: str | None = None


PaperBody = VisitFactKept | VisitFactWithdrawn | PhotoKept
