"""The folder for what the program can make again: rows of the office, compiled templates."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_cache_dir

CACHE_VARIABLE = "HANDSFREE_CACHE"


def cache_folder() -> Path:
    """The cache folder: HANDSFREE_CACHE, otherwise the user's cache folder."""
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named or user_cache_dir("handsfree", appauthor=False))
