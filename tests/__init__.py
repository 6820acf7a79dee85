"""Sets up what has to come before any test: one thread for numpy, and bytecode that is kept.

The package comes first: it gives numpy one thread, which numpy reads when it is imported. Where
``PYTHONDONTWRITEBYTECODE`` is set, every worker would compile all tests and the package again, and
so would each of the programs that tests start.
"""

import os
import sys

import handsfree  # noqa: F401

sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
