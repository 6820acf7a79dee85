"""Whole files on every system. How Windows differs: Python's documentation of os.open, and its
C library, which writes '\\n' as two bytes unless O_BINARY is given (common practice)."""

from __future__ import annotations

import errno
import os
import sys

import pytest

from handsfree.journal.durable_files import replace_file, sync_folder


def test_a_folder_that_cannot_be_opened_is_no_fault_on_windows(tmp_path, monkeypatch):
    def denied(*_):
        raise PermissionError

    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "open", denied)
    assert sync_folder(tmp_path) is None
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(PermissionError):
        sync_folder(tmp_path)


def test_bytes_are_written_as_they_are_where_the_system_knows_text_files(tmp_path, monkeypatch):
    real, flags = os.open, []
    o_binary = 0x8000  # its value on Windows

    def noted(path, flag, *rest):
        flags.append(flag)
        return real(path, flag & ~o_binary, *rest)

    monkeypatch.setattr(os, "O_BINARY", o_binary, raising=False)
    monkeypatch.setattr(os, "open", noted)
    replace_file(tmp_path / "journal.jsonl", b"one\ntwo\n")
    assert flags[0] & o_binary


def test_what_a_full_disk_took_of_a_file_is_removed_again(tmp_path, monkeypatch):
    real = os.write

    def takes_half(handle, content):
        if len(content) < 4:
            raise OSError(errno.ENOSPC, "no space left on device")
        return real(handle, content[: len(content) // 2])

    (tmp_path / "clip.flac").write_bytes(b"before")
    monkeypatch.setattr(os, "write", takes_half)
    with pytest.raises(OSError, match="no space left"):
        replace_file(tmp_path / "clip.flac", b"a clip that is too large")
    assert [path.name for path in tmp_path.iterdir()] == ["clip.flac"]
    assert (tmp_path / "clip.flac").read_bytes() == b"before"
