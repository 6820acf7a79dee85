"""An offline, hands-free voice companion for commissioning low-energy swing doors.

For Python programs there are ``load_visit`` and ``check_door``; docs/python.md shows both. Their
modules are imported when the name is first used.
"""

from __future__ import annotations

import os
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from handsfree.errors import HandsfreeError
    from handsfree.job.finding import Verdict
    from handsfree.public.door_check import DoorCheck, DoorFinding, check_door
    from handsfree.public.visit_record import OpenItem, Visit, VisitReading, load_visit

# numpy reads this setting once, when it is imported. Its threads busy-wait for each other, which
# makes the stopwatch late on a loaded computer; one thread is as fast for matrices this small.
for _threads in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")

__version__ = "0.1.0"
__all__ = [
    "DoorCheck",
    "DoorFinding",
    "HandsfreeError",
    "OpenItem",
    "Verdict",
    "Visit",
    "VisitReading",
    "__version__",
    "check_door",
    "load_visit",
]
_MODULES = {
    "DoorCheck": "public.door_check",
    "DoorFinding": "public.door_check",
    "HandsfreeError": "errors",
    "OpenItem": "public.visit_record",
    "Verdict": "job.finding",
    "Visit": "public.visit_record",
    "VisitReading": "public.visit_record",
    "check_door": "public.door_check",
    "load_visit": "public.visit_record",
}


def __getattr__(name: str) -> Any:
    """Imports a public name when it is first used (PEP 562)."""
    if name not in _MODULES:
        raise AttributeError(f"module 'handsfree' has no attribute '{name}'")
    value = getattr(import_module(f"handsfree.{_MODULES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
