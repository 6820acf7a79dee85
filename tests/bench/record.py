"""The owner's record: how long it takes, and its picture in the docs.

python -m tests.bench.record              # seconds and bytes, of an invented visit
python -m tests.bench.record picture      # docs/pictures/record.png
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

from handsfree.reports.record_pdf import record_pdf, record_png
from handsfree.visit_record.load import load_record

from ..reports.storied import storied_visit

PICTURE = Path(__file__).parents[2] / "docs" / "pictures" / "record.png"


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        record = load_record(storied_visit(Path(place) / "visit", reviewed=True))
    if sys.argv[1:] == ["picture"]:
        PICTURE.write_bytes(record_png(record, 75))
        print(f"{PICTURE}: {PICTURE.stat().st_size / 1000:.0f} kB")
        return
    for nth in ("first", "next", "next"):
        began = time.perf_counter()
        pdf = record_pdf(record)
        print(f"{nth}: {time.perf_counter() - began:.2f} s, {len(pdf) / 1000:.0f} kB")
    print(f"load of the machine: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
