"""Options and devices for commands that listen to a microphone."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, TypeVar

import click

from handsfree.dialogue.state_machine import PAUSE_AFTER_S, REMINDER_AFTER_S
from handsfree.errors import SoundError
from handsfree.job.record import Record
from handsfree.settings import Settings

if TYPE_CHECKING:
    from handsfree.recognition.cycle_listener import MarkOf
    from handsfree.recognition.keyboard import Keyboard
    from handsfree.recognition.microphone_ears import OnBlock
    from handsfree.recognition.port import Ears
    from handsfree.recognition.recognizer import Recognizer

Command = TypeVar("Command", bound=Callable[..., Any])

MICROPHONE = "microphone"


class Live(Record):
    """The devices of a visit, and when it listens. See docs/settings.md."""

    microphone: str | None = None
    loudspeaker: str | None = None
    headset: bool = False
    push_to_talk: bool = False
    button: str | None = None
    endpoint_ms: int = 350
    tail_ms: int = 250


def live_options(command: Command) -> Command:
    """Adds the options of microphone, loudspeaker and headset to a command."""
    for option in (
        click.option("--button", help="A headset's or pedal's input device: push to talk with it."),
        click.option(
            "--push-to-talk/--always-open",
            default=None,
            help="Listen only after a key press, or always.",
        ),
        click.option(
            "--headset/--no-headset",
            default=None,
            help="The microphone cannot hear the loudspeaker: speaking interrupts the tool.",
        ),
        click.option("--loudspeaker", help="Speak on this device."),
        click.option("--microphone", help="Listen on this device."),
    ):
        command = option(command)
    return command


def live_of(settings: Settings, options: dict[str, Any]) -> Live:
    """The devices as the options name them, else as the settings do."""
    chosen = {
        "microphone": settings.microphone,
        "loudspeaker": settings.loudspeaker,
        "headset": settings.headset,
        "push_to_talk": settings.push_to_talk,
        "button": settings.button,
        "endpoint_ms": settings.endpoint_ms,
        "tail_ms": settings.tail_ms,
        **{name: value for name, value in options.items() if value is not None},
    }
    chosen["push_to_talk"] = chosen["push_to_talk"] or options.get("button") is not None
    return Live(**chosen)


def open_microphone(
    live: Live,
    recognizer: Recognizer,
    clock: tuple[Recognizer, MarkOf],
    stack: ExitStack,
    on_block: OnBlock,
) -> Ears:
    """Opens the microphone until ``stack`` closes. Raises SoundError."""
    # Slow to import, and a typed visit does not need them.
    from handsfree.audio.capture import MicrophoneCapture
    from handsfree.recognition.microphone_ears import MicrophoneEars
    from handsfree.recognition.voice_activity import VoiceActivitySettings

    keyboard = _keyboard(live, stack)
    capture = MicrophoneCapture(live.microphone)
    stack.callback(capture.close)
    return MicrophoneEars(
        capture,
        recognizer,
        clock,
        keyboard=keyboard,
        headset=live.headset,
        push_to_talk=live.push_to_talk,
        tail_s=live.tail_ms / 1000,
        settings=VoiceActivitySettings(endpoint_s=live.endpoint_ms / 1000),
        quiet_at_s=(PAUSE_AFTER_S, REMINDER_AFTER_S),
        on_block=on_block,
    )


def _keyboard(live: Live, stack: ExitStack) -> Keyboard:
    from handsfree.recognition.keyboard import (
        NoKeyboard,
        PushButton,
        TerminalKeyboard,
        unbuffered_keys,
    )

    if live.push_to_talk:
        stack.enter_context(unbuffered_keys())
    keys: Keyboard = NoKeyboard()
    if sys.stdin is not None:
        keys = TerminalKeyboard(sys.stdin, buttons=live.push_to_talk)
    if live.button is None:
        return keys
    try:
        return PushButton(live.button, keys)
    except OSError as error:
        raise SoundError(
            f"the button cannot be read: {(error.strerror or str(error)).lower()}",
            file=live.button,
            way_out="name an input device in /dev/input that you may read",
        ) from error
