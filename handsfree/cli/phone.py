"""Builds the companion as a web app for a phone, and serves it: ``handsfree phone``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from handsfree.cli.terminal import echo
from handsfree.language.wording import languages

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
def build(folder: Path, parts: Path, spoken: tuple[str, ...]) -> None:
    """Builds the app into FOLDER from parts that you fetched.

    Every part is pinned by its SHA-256. 'handsfree phone parts' prints the commands that fetch
    them.

    \b
    Examples:
      handsfree phone build phone-app --parts phone-parts
      handsfree phone build phone-app --language en --language es
    """
    from handsfree.phone.build import build as built

    app = built(folder, parts, tuple(dict.fromkeys(spoken)))
    echo(f"{folder}: version {app.version}, {app.files} files, {app.bytes / 1e6:.1f} MB")


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
def serve(folder: Path, host: str | None, port: int, certificates: Path | None) -> None:
    """Serves a built app on the local network, with TLS and a QR code of its address.

    The certificate's authority is made once, on this machine. Trust it on the phone once: it is
    at /authority.crt. It can vouch for private addresses only. Press Ctrl+C to stop it.

    \b
    Examples:
      handsfree phone serve phone-app
      handsfree phone serve phone-app --host 192.168.1.20
    """
    import segno

    from handsfree.phone import server

    def begun(address: str) -> None:
        segno.make(address, micro=False).terminal(compact=True)
        echo(f"The app is at {address}")
        echo(f"The phone has to trust {address.rstrip('/')}{server.AUTHORITY_PATH} once.")
        echo("Ctrl+C ends it.")
        sys.stdout.flush()  # a script may wait for the address

    server.serve(
        folder,
        host or server.own_address(),
        port,
        certificates or server.certificate_folder(),
        begun,
    )
