"""The voice net uses one thread, whatever its library prefers."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from handsfree.recognition.voice_net import THREADS

ASK = f"""
import os
from handsfree.recognition.voice_net import voice_net
net, noise = voice_net(), bytes(range(256)) * 4
shown = [net.process_chunk(noise) for _ in range(20)]
print(len(os.listdir("/proc/self/task")), os.environ.get("{THREADS}"), shown[-1])
"""


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="threads are counted on Linux")
def test_it_takes_one_thread_unless_told_otherwise_and_hears_the_same():
    heard = []
    for given, threads in ((None, "1"), ("2", "2")):
        env = {name: value for name, value in os.environ.items() if name != THREADS}
        env |= {THREADS: given, "OMP_NUM_THREADS": "2"} if given else {}
        done = subprocess.run(
            [sys.executable, "-c", ASK], env=env, capture_output=True, text=True, check=True
        )
        counted, left, last = done.stdout.split()
        assert (counted, left) == (threads, str(given))
        heard.append(last)
    assert heard[0] == heard[1]
