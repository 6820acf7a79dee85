"""Measures the owner's record, and takes its pictures for the docs.

python -m tests.bench.record              # seconds and bytes, of an invented visit
python -m tests.bench.record command      # seconds of the whole command, with its start
python -m tests.bench.record picture      # docs/pictures/record*.png and label.png
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from handsfree.reports.door_label import label_png
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.record_pdf import record_pdf, record_png
from handsfree.visit_record.load import load_record

from ..reports.serviced import serviced
from ..reports.storied import storied_visit

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
LOGO = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 60"><rect x="4" y="4" width="38" '
    b'height="52" fill="none" stroke="#1d4b78" stroke-width="6"/><rect x="48" y="4" width="38" '
    b'height="52" fill="#1d4b78"/><circle cx="54" cy="32" r="3" fill="#fff"/></svg>'
)
COMPANY = Letterhead(
    company="Example Door Service", address="1 Example Street, Anytown; 555 0100", logo=LOGO
)


def main() -> None:
    if sys.argv[1:] == ["picture"]:
        _pictures()
        return
    with tempfile.TemporaryDirectory() as place:
        folder = storied_visit(Path(place) / "visit", reviewed=True)
        record = load_record(folder)
        if sys.argv[1:] == ["command"]:
            spent = [_command(folder) for _ in range(5)]
            wall, cpu = (median(each) for each in zip(*spent, strict=True))
            print(f"command: {wall:.2f} s, {cpu:.2f} s of processor time (median of 5)")
        else:
            for nth in ("first", "next", "next"):
                began, cpu = time.perf_counter(), time.process_time()
                pdf = record_pdf(record)
                wall, cpu = time.perf_counter() - began, time.process_time() - cpu
                print(f"{nth}: {wall:.2f} s, {cpu:.2f} s of processor time, {len(pdf) // 1000} kB")
    print(f"load of the machine: {os.getloadavg()[0]:.1f}")


def _command(folder: Path) -> tuple[float, float]:
    began, before = time.perf_counter(), os.times()
    command = [sys.executable, "-m", "handsfree", "record", str(folder)]
    subprocess.run(command, check=True, capture_output=True)
    after = os.times()
    cpu = after.children_user + after.children_system
    return (
        time.perf_counter() - began,
        cpu - before.children_user - before.children_system,
    )


def _pictures() -> None:
    single = serviced()
    with tempfile.TemporaryDirectory() as place:
        pair = load_record(storied_visit(Path(place) / "visit", reviewed=True))
    pictures = {
        "record": record_png(single, 90, COMPANY),
        "record-two-languages": record_png(pair, 75, COMPANY, ("en", "es")),
        "label": label_png(single, 150, COMPANY),
    }
    for name, content in pictures.items():
        path = PICTURES / f"{name}.png"
        path.write_bytes(content)
        print(f"{path}: {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
