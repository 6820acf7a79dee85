"""Table of all commands: module and help line, so that help imports none of them."""

from __future__ import annotations

from typing import NamedTuple


class Entry(NamedTuple):
    """A command: the module below ``handsfree.cli`` that holds it, and its line in the help."""

    module: str
    help: str


COMMANDS: dict[str, Entry] = {
    "check": Entry("check", "Compares readings with the low-energy limits."),
    "controllers": Entry(
        "controllers", "Lists the controllers' guides that come with the program."
    ),
    "daily": Entry(
        "daily", "Opens the daily walk of a door as a page for a phone, and saves it as a visit."
    ),
    "demo": Entry("visit", "Plays a recorded visit through the real loop."),
    "export": Entry("export", "Writes a visit for other programs: JSON, CSV, XLSX, calendar."),
    "hear": Entry("hear", "Prints what is understood of sound files."),
    "label": Entry("record", "Writes the label for the door: last and next service, and a code."),
    "ledger": Entry("ledger", "Answers questions across many visits, from one database."),
    "limits": Entry("limits", "Lists the limit sets, with the source of every value."),
    "model": Entry("model", "Shows the speech model in use, or changes it."),
    "motion": Entry("motion", "Measures a leaf from a phone's log of rotation rates."),
    "new": Entry("new", "Writes a job file: from answers, a last visit, or a list of doors."),
    "office": Entry("office", "Opens visits in the browser: listen, correct, decide, sign off."),
    "pack": Entry("pack", "Packs a visit into one file to mail."),
    "phone": Entry("phone", "Builds the companion as a web app for a phone, and serves it."),
    "photos": Entry("photos", "Takes dropped pictures into a visit and removes their metadata."),
    "phrases": Entry("phrases", "Lists everything that can be said."),
    "procedures": Entry("procedures", "Lists the procedures that come with the program."),
    "record": Entry("record", "Writes the owner's record as PDF."),
    "rehearse": Entry("rehearse", "Walks through a whole visit at a simulated door."),
    "report": Entry("report", "Writes a visit as one HTML page with its charts and its sound."),
    "resume": Entry("resume", "Continues a visit after a break, at the step where it stopped."),
    "search": Entry("search", "Leads from a complaint to its cause, one check at a time."),
    "settings": Entry("settings", "Shows every setting, its value and where it comes from."),
    "sound-check": Entry("sound_check", "Checks microphone, loudspeaker and voice."),
    "summary": Entry("summary", "Prints the results of a visit."),
    "time": Entry("time", "Takes the times of a leaf from a recording."),
    "unpack": Entry("pack", "Unpacks a visit, after checking all of it."),
    "verify": Entry("verify", "Checks that a visit's journal and sound are as they were written."),
    "visit": Entry("visit", "Runs a visit: by microphone, from a recording, or typed."),
}
