"""The procedure of a visit: the one that was chosen, and the one that a journal names."""

from __future__ import annotations

from pathlib import Path

from handsfree.controllers.guide_loader import load_guide
from handsfree.errors import ProcedureError
from handsfree.journal import events as ev
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure


def chosen_procedure(name: str, controller: str, language: str) -> Procedure:
    """The procedure of that name or file, with the controller's guide if one is named ('').

    Raises ProcedureError or ControllerError.
    """
    guide = load_guide(controller, language) if controller else None
    return load_procedure(name, guide, language)


def procedure_of_visit(opened: ev.VisitOpened) -> Procedure:
    """The procedure with which a visit was opened; one of your own is read from its file again.

    Raises ProcedureError, naming the file if it is gone, or ControllerError.
    """
    own = Path(opened.sheet.procedure)
    if own.stem != opened.procedure or not own.is_absolute():  # a shipped one
        return chosen_procedure(opened.procedure, opened.controller, opened.sheet.language)
    if not own.is_file():
        raise ProcedureError(
            "the visit follows this procedure of your own, and the file is gone",
            file=own,
            way_out="put it back where it was",
        )
    return chosen_procedure(str(own), opened.controller, opened.sheet.language)
