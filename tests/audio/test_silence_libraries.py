"""What the libraries of sound print by themselves, and what else still has to be printed."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

_PROGRAM = """
import ctypes, subprocess, sys
from handsfree.audio.devices import silence_libraries

silence_libraries()
libc = ctypes.CDLL(None)
libc.fputs(b"from C", ctypes.c_void_p.in_dll(libc, "stderr"))
libc.fflush(None)
print("from Python", file=sys.stderr, flush=True)
subprocess.run([sys.executable, "-c", "import sys; print('from a child', file=sys.stderr)"])
libc.abort()
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc lets it be led away")
def test_only_c_code_of_the_process_itself_is_kept_off_the_terminal() -> None:
    """Python, other programs and the trace of a crash still reach the terminal."""
    ended = subprocess.run(
        [sys.executable, "-c", _PROGRAM], capture_output=True, text=True, timeout=60
    )
    assert "from C" not in ended.stderr
    assert "from Python" in ended.stderr and "from a child" in ended.stderr
    assert "Fatal Python error: Aborted" in ended.stderr
