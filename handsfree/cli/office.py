"""Serves visits to review, correct and sign in the browser: ``handsfree office``."""

from __future__ import annotations

import webbrowser
from functools import partial
from pathlib import Path

import click

from handsfree.cli.terminal import echo
from handsfree.cli.visit import VISITS
from handsfree.errors import SecondEarError
from handsfree.office.server import Served, serve
from handsfree.office.transcriber import Opener
from handsfree.second_ear.availability import chosen_weights, open_second_ear
from handsfree.settings import load_settings

PORT = 8417


@click.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="The port; 0 takes a free one.",
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Where it can be reached.",
)
@click.option("--open", "show", is_flag=True, help="Open it in the browser.")
def office(folder: Path | None, port: int, host: str, show: bool) -> None:
    """Opens visits in the browser: listen, correct, decide, sign off.

    FOLDER is a visit or a folder of visits, by default visits/. Every change goes into the
    visit's journal with name, reason and time. Only this machine can reach the office, unless
    --host says otherwise, and only with the token in the address that it prints. Press Ctrl+C
    to stop it.

    \b
    Examples:
      handsfree office
      handsfree office my-visit --open
      handsfree office /srv/visits --host 0.0.0.0
    """

    def told(served: Served) -> None:
        echo(f"The office is open: {served.address}")
        if served.beyond:
            echo(
                "Others in this network can reach it, and anyone who has this address with its"
                " token can hear and change every visit. Nothing is encrypted on the way: use it in"
                " a network that you trust, or through a tunnel.",
                err=True,
            )
        echo("Ctrl+C ends it.")
        if show:
            webbrowser.open(served.address)

    serve(folder or VISITS, host, port, told, _second_ear())


def _second_ear() -> Opener | None:
    """Opens the second ear named in the settings; None if it is not installed or unusable."""
    setting = load_settings().second_ear
    try:
        if chosen_weights(setting) is None:
            return None
    except SecondEarError as error:
        echo(f"Notes are not typed up: {error}", err=True)
        return None
    return partial(open_second_ear, setting)
