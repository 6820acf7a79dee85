"""A complete rehearsed visit: a simulated door, a simulated technician, and the real tool."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from handsfree.checks.limits import load_limits
from handsfree.controllers.guide import Guide
from handsfree.job.closed_lists import Confirm
from handsfree.job.opening import Swing
from handsfree.journal.motion_logs import LOGS
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.recognition.port import Ears
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.leaf_logs import LeafLogs
from handsfree.rehearsal.simulated_ears import OverheardMouth, SimulatedClock, TypingEars
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.technician_profile import CAREFUL, TechnicianProfile
from handsfree.second_ear.port import SecondEar
from handsfree.synthesis.port import Mouth
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit, Watcher
from handsfree.visit.understanding import RetryRecognizer
from handsfree.visit_record.progress import Progress

BY_TEXT = "rehearsal, typed"
EarsOf = Callable[[Technician, SimulatedClock], Ears]


class Rehearsal:
    """One rehearsed visit. ``ears_of`` makes the tool's ears for the technician, acoustic or typed.

    With a ``guide`` a simulated controller is set up by its spoken entries. With ``motion`` a phone
    on the leaf takes the times. The visit's folder contains everything afterwards, marked as a
    rehearsal.
    """

    def __init__(
        self,
        spec: DoorSpec,
        *,
        seed: int = 0,
        procedure: str | None = None,
        guide: Guide | None = None,
        manner: TechnicianProfile = CAREFUL,
        language: Language | None = None,
        ears_of: EarsOf | None = None,
        retry: RetryRecognizer | None = None,
        ear: SecondEar | None = None,
        ears_name: str = BY_TEXT,
        model: str = "none",
        mouth: Mouth | None = None,
        confirm: Confirm = "doubtful",
        motion: bool = False,
    ) -> None:
        self.language = language or Language.load()
        self.procedure: Procedure = load_procedure(procedure or default_procedure(spec), guide)
        self.door = Door(spec, seed)
        self.clock = SimulatedClock()
        self.technician = Technician(
            self.door,
            self.procedure,
            self.language.wording,
            manner,
            seed,
            can_time=ears_of is not None,
        )
        self._ears: Ears = (ears_of or TypingEars)(self.technician, self.clock)
        self._ears_name, self._model = ears_name, model
        self._hears_again, self._ear = retry, ear
        self._confirm, self._guide = confirm, guide
        self._motion, self._seed = motion, seed
        self.mouth = OverheardMouth(self.technician, self.clock, mouth)

    def run(self, folder: Path, watch: Watcher = lambda event: None) -> Progress:
        """Runs the whole visit into a new folder and returns its final progress."""
        sheet = self.door.spec.sheet
        limits = load_limits(sheet.limits)
        with Journal.create(folder) as journal:
            if self._motion:
                self.technician.phone = LeafLogs(folder / LOGS, self.door, self._seed)
            visit = Visit(
                journal,
                first_state(sheet, self.procedure, limits, times_by_ear=self._ears.can_time),
                language=self.language,
                ears=self._ears,
                mouth=self.mouth,
                clock=self.clock,
                watch=watch,
                tones=False,
                retry=self._hears_again,
                ear=self._ear,
            )
            shell = {"model": self._model, "ears": self._ears_name, "mouth": self.mouth.name}
            shell["controller"] = self._guide.name if self._guide is not None else ""
            shell["second_ear"] = self._ear.name if self._ear is not None else ""
            visit.open(opening_event(sheet, self.procedure, limits, **shell), confirm=self._confirm)
            visit.run()
            return visit.progress


def default_procedure(spec: DoorSpec) -> str:
    """The default procedure of a rehearsal of this door."""
    return {
        Swing.SINGLE: "controller-replaced-single",
        Swing.SAME_WAY: "controller-replaced-pair",
        Swing.DOUBLE_EGRESS: "double-egress",
    }[Swing(spec.swing)]
