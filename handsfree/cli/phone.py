"""Builds the companion as a web app for a phone, and serves it: ``handsfree phone``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from handsfree.cli.output_file import write_out
from handsfree.cli.terminal import echo
from handsfree.clock import SystemClock
from handsfree.errors import VoiceError
from handsfree.language.wording import languages

if TYPE_CHECKING:
    from handsfree.language.interpreter import Language
    from handsfree.phone.carried_job import CarriedJob
    from handsfree.synthesis.voice import Voice

PARTS = Path("phone-parts")
PORT = 8443


@click.group()
def phone() -> None:
    """Builds the companion as a web app for a phone, and serves it.

    The app is static files. A phone loads it once and then needs no network.

    \b
    Examples:
      handsfree phone parts
      handsfree phone build phone-app --parts phone-parts
      handsfree phone serve phone-app
    """


@phone.command()
@click.option(
    "--into", type=click.Path(path_type=Path), default=PARTS, show_default=True, help="The folder."
)
def parts(into: Path) -> None:
    """Prints the commands that fetch the app's parts, and lists the parts.

    \b
    Example:
      handsfree phone parts --into phone-parts
    """
    from handsfree.phone.parts import fetch_lines, pinned

    for line in fetch_lines(into):
        echo(line)
    echo()
    for part in pinned():
        echo(f"{part.package} {part.version} ({part.license}): {part.to}, {part.sha256}")


@phone.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--parts",
    type=click.Path(path_type=Path, file_okay=False),
    default=PARTS,
    show_default=True,
    help="The folder with the parts.",
)
@click.option(
    "--language",
    "spoken",
    type=click.Choice(languages()),
    multiple=True,
    default=("en",),
    show_default=True,
    help="A language to listen in; give it again for one more. All can be typed.",
)
@click.option(
    "--job",
    "jobs",
    type=click.Path(path_type=Path, dir_okay=False),
    multiple=True,
    help="A job file to put into the app; give it again for one more.",
)
@click.option(
    "--prompts/--no-prompts",
    default=True,
    show_default=True,
    help="Render the prompts, for phones that have no voice without a network.",
)
def build(
    folder: Path, parts: Path, spoken: tuple[str, ...], jobs: tuple[Path, ...], prompts: bool
) -> None:
    """Builds the app into FOLDER from parts that you fetched.

    Every part is pinned by its SHA-256. 'handsfree phone parts' prints the commands that fetch
    them. A job is built in with the files that it names and the results of its last visit. This
    machine's voice speaks the prompts for phones without one, which takes several minutes for a
    language.

    \b
    Examples:
      handsfree phone build phone-app --parts phone-parts
      handsfree phone build phone-app --language en --language es
      handsfree phone build phone-app --job lobby.job.toml --job harbour-hall.job.toml
    """
    from handsfree.phone.build import build as built

    languages_ = tuple(dict.fromkeys(spoken))
    carried = [_carried(job) for job in jobs]
    app = built(folder, parts, languages_, carried, voice_of=_voice_of if prompts else None)
    for language, left_out in app.left_out.items():
        echo(f"prompts in '{language}': {left_out} sentences are put together from single words")
    echo(f"{folder}: version {app.version}, {app.files} files, {app.bytes / 1e6:.1f} MB")


@phone.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; by default FILE with the ending .phone.json.",
)
def job(file: Path, out: Path | None) -> None:
    """Makes a job file for the phone out of FILE and everything it names.

    It includes your own limits, procedure and controller guide, and the results of the last visit.
    Open it on the phone's first page.

    \b
    Example:
      handsfree phone job lobby.job.toml
    """
    out = out or file.with_name(f"{file.name.removesuffix('.toml')}.phone.json")
    content = _carried(file).model_dump_json(indent=1) + "\n"
    write_out(out, content.encode(), "the job")
    echo(f"{out}: open it on the phone's first page")


@phone.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--host", help="The address to serve at; by default this machine's in its network.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="The port; 0 takes a free one.",
)
@click.option(
    "--certificates",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder of the certificates; by default one of your own.",
)
@click.option(
    "--office",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder of visits that phones may send theirs to.",
)
@click.option(
    "--visit",
    type=click.Path(path_type=Path, file_okay=False),
    help="A visit on this machine that takes logs from a phone taped to the leaf.",
)
def serve(
    folder: Path,
    host: str | None,
    port: int,
    certificates: Path | None,
    office: Path | None,
    visit: Path | None,
) -> None:
    """Serves a built app on the local network, with TLS and a QR code of its address.

    The certificate's authority is made once, on this machine. Trust it on the phone once: it is at
    /authority.crt. It is valid for private addresses only. Press Ctrl+C to stop it.

    With --office a phone that opened the printed address can send its visits to that folder. The
    address then contains the token of this machine's office, so keep it private. 'handsfree office'
    on the same folder lists a visit as soon as it arrives.

    \b
    Examples:
      handsfree phone serve phone-app
      handsfree phone serve phone-app --office visits
      handsfree phone serve phone-app --host 192.168.1.20
      handsfree phone serve phone-app --visit visits/hall
    """
    import segno

    from handsfree.cache_folder import cache_folder
    from handsfree.office.server import key_in, token_of
    from handsfree.phone import server

    def begun(address: str) -> None:
        segno.make(address, micro=False).terminal(compact=True)
        echo(f"The app is at {address}")
        here = address.partition("/#")[0].rstrip("/")
        echo(f"The phone has to trust {here}{server.AUTHORITY_PATH} once.")
        if visit is not None:
            echo(f"The page {here}/leaf.html measures a leaf for the visit {visit}.")
        echo("Ctrl+C ends it.")
        sys.stdout.flush()  # a script may be waiting for the address

    server.serve(
        folder,
        host or server.own_address(),
        port,
        certificates or server.certificate_folder(),
        begun,
        None if office is None else (office, token_of(key_in(cache_folder()))),
        visit,
    )


def _voice_of(language: Language) -> Voice | None:
    """This machine's voice for a language; without one says so."""
    from handsfree.synthesis.voice import VoiceWorker

    voice = VoiceWorker(languages=language.wording.voices)
    try:
        voice.start()
    except VoiceError as error:
        voice.close()
        echo(f"no prompts in '{language.wording.language}': {error}")
        return None
    return voice


def _carried(file: Path) -> CarriedJob:
    from handsfree.phone.carried_job import carried_job

    return carried_job(file, SystemClock().utc().astimezone().date())
