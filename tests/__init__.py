"""Sets up the test process: one thread for numpy, and bytecode caching.

The package is imported first, because it sets numpy's thread count, which numpy reads on import. If
``PYTHONDONTWRITEBYTECODE`` were kept, every worker and every program that a test starts would
compile all tests and the package again.
"""

import os
import sys

import handsfree  # noqa: F401

sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
