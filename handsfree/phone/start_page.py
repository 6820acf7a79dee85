"""Lists what the first page offers: procedures, guides and jobs."""

from __future__ import annotations

import json
from collections.abc import Iterable

from handsfree import __version__
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.data import data_folder
from handsfree.language.wording import languages
from handsfree.phone.carried_job import CarriedJob, about, job_of
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.toml_source import file_bytes


def invented_job() -> str:
    """The text of the job that is there to try the app."""
    return file_bytes(data_folder("audio_fixtures") / "harbour-hall.job.toml").decode()


def start_page(jobs: Iterable[CarriedJob] = ()) -> str:
    """The content of start.json: the version, procedures and guides of each language, an invented
    job, and the jobs that the app was built with.
    """
    invented = invented_job()
    return json.dumps(
        {
            "version": __version__,
            "job": {"text": invented, **about(job_of(invented))},
            "jobs": [{"text": job.model_dump_json(), **about(job)} for job in jobs],
            "procedures": {
                language: [
                    {"name": name, "title": load_procedure(name, None, language).title}
                    for name in shipped_procedures(language)
                ]
                for language in languages()
            },
            "guides": {
                language: [
                    {"name": name, "title": load_guide(name, language).title}
                    for name in shipped_guides(language)
                ]
                for language in languages()
            },
        }
    )
