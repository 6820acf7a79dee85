"""A microphone for the app in a browser that loses nothing, however busy the machine is.

Chromium plays a file as a microphone too (``test_microphone.py``), but drops sound when the machine
is busy. This one hands the page the same blocks as its audio worklet would.
"""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

FAKE = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
"""Switches of Chromium with which a page gets a microphone at all."""

INSTEAD = """
globalThis.AudioWorkletNode = class extends GainNode {
  constructor(context) {
    super(context);
    this.port = {};
    globalThis.microphone = this.port;
  }
};
"""
"""Run before the page: the audio worklet's messages come from ``play``, not from the device."""

_PLAY = """({ sound, pace }) => {
  const bytes = Uint8Array.from(atob(sound), (letter) => letter.charCodeAt(0));
  const samples = new Int16Array(bytes.buffer);
  const begun = performance.now();
  let at = 0;
  globalThis.played = 0;
  const tick = setInterval(() => {
    const due = (performance.now() - begun) * 16 * pace;
    for (; at < due && at + 512 <= samples.length; at += 512) {
      microphone.onmessage({ data: samples.slice(at, at + 512) });
    }
    globalThis.played = at;
    if (at + 512 > samples.length) clearInterval(tick);
  }, 10);
}"""


def play(page: Any, samples: NDArray[np.int16], pace: float = 1.0) -> None:
    """Begins to play samples (mono, 16 kHz) into the page's microphone, ``pace`` times as fast."""
    sound = base64.b64encode(samples.tobytes()).decode()
    page.evaluate(_PLAY, {"sound": sound, "pace": pace})
