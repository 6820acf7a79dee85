from __future__ import annotations

from pathlib import Path

import kaldifst

from handsfree.recognition.fst import Fst


def test_openfst_reads_what_is_written(tmp_path: Path) -> None:
    fst = Fst()
    one, two = fst.add_state(), fst.add_state()
    fst.add_arc(one, two, 7, 3, 0.5)
    fst.add_arc(two, two, 9)
    fst.set_final(two, 1.25)
    fst.write(tmp_path / "two.fst")

    read = kaldifst.StdVectorFst.read(str(tmp_path / "two.fst"))

    assert [line.split() for line in str(read).splitlines()] == [
        ["0", "1", "7", "3", "0.5"],
        ["1", "1", "9", "0"],
        ["1", "1.25"],
    ]
