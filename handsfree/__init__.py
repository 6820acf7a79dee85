"""An offline, hands-free voice companion for commissioning low-energy swing doors."""

import os

# Before numpy is there, which reads it once: its threads wait for each other in a loop, and on a
# busy computer the stopwatch falls behind by them. One is as fast for matrices so small.
for _threads in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")

__version__ = "0.1.0"
