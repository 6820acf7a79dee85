"""Keeps compiled templates in the user's cache, because compiling them takes longer than a page.

A file that is missing, damaged, of another version, or in a folder that others may write to is
not used: the template is compiled again. The cache may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import marshal
import os
import sys
from contextlib import suppress
from pathlib import Path
from types import CodeType

import jinja2
from jinja2.bccache import Bucket, BytecodeCache

from handsfree.cache_folder import cache_folder

_FOLDER = "templates"
_DIGEST_BYTES = 32
_OTHERS_WRITE = 0o022


class TemplateCache(BytecodeCache):
    """Compiled templates, each with a digest of its source, its code and the versions."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = cache_folder() / _FOLDER if folder is None else folder

    def load_bytecode(self, bucket: Bucket) -> None:
        """Gives the bucket its code if the cache has it undamaged."""
        with suppress(OSError, ValueError, EOFError, TypeError):
            if not _ours(self._folder):
                return
            content = (self._folder / bucket.key).read_bytes()
            digest, code = content[:_DIGEST_BYTES], content[_DIGEST_BYTES:]
            if digest == _digest(bucket, code):
                found = marshal.loads(code)
                bucket.code = found if isinstance(found, CodeType) else None

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Stores the code of the bucket if the folder can be written to."""
        code = marshal.dumps(bucket.code)
        file = self._folder / bucket.key
        part = file.with_suffix(f".{os.getpid()}")
        with suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            if not _ours(self._folder):
                return
            try:
                part.write_bytes(_digest(bucket, code) + code)
                part.replace(file)
            finally:
                part.unlink(missing_ok=True)


def _digest(bucket: Bucket, code: bytes) -> bytes:
    """The digest of the template's source, its code, and what the code depends on."""
    env = bucket.environment
    options = (env.trim_blocks, env.lstrip_blocks, env.undefined.__name__)
    versions = f"{sys.version} {jinja2.__version__} {options}"
    return hashlib.sha256(f"{bucket.checksum} {versions} ".encode() + code).digest()


def _ours(folder: Path) -> bool:
    """Whether the folder is the user's and nobody else may write to it."""
    if not hasattr(os, "getuid"):
        return True
    about = folder.stat()
    return about.st_uid == os.getuid() and not about.st_mode & _OTHERS_WRITE
