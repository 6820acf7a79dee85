"""Asks for the procedure of a visit when neither the job nor an option names it."""

from __future__ import annotations

from handsfree.errors import JobError
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.visit.spoken_question import SpokenQuestion

NAME_PROCEDURE = 'give --procedure NAME, or write procedure = "NAME" into the job file'
"""The way out when no procedure is named."""


def procedure_titles(language: str) -> dict[str, str]:
    """The names of the shipped procedures, by their titles up to the first period."""
    loaded = (load_procedure(name, None, language) for name in shipped_procedures(language))
    return {each.title.partition(". ")[0]: each.name for each in loaded}


def asked_procedure(question: SpokenQuestion, language: Language) -> str:
    """The name of the procedure chosen by number. Raises JobError if none was chosen."""
    w = language.wording
    titles = procedure_titles(w.language)
    chosen = question.ask(w.say("which_procedure"), tuple(titles))
    if not isinstance(chosen, int):
        raise JobError("no procedure was chosen", way_out=NAME_PROCEDURE)
    return list(titles.values())[chosen]
