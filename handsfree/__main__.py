"""Runs the command line: ``handsfree``, or ``python -m handsfree``."""

from __future__ import annotations

import gc

from handsfree import interrupts


def main() -> None:
    """Runs the command that the arguments name."""
    interrupts.end_at_once()
    # Imports make many objects and hardly any garbage; the command line enables it again.
    gc.disable()
    from handsfree.cli import main as command_line

    command_line()


if __name__ == "__main__":
    main()
