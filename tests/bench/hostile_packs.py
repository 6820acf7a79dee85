"""Makes malicious packs, and checks what unpacking does with them.

    python -m tests.bench.hostile_packs --damaged 100

Every pack must either be rejected with one line and nothing written, or be taken in as exactly the
visit that its journal holds. Nothing may be written outside the folder, and nothing may end in a
traceback.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import stat
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from handsfree.errors import HandsfreeError
from handsfree.journal import reader
from handsfree.journal.canonical_json import sha256_of
from handsfree.reports.pack import pack
from handsfree.reports.unpack import unpack
from tests.bench.tampering import lines, write
from tests.ledger.visits import small_visit

Files = dict[str, bytes]
NAMES = (
    *("../evil", "/etc/evil", "clips/../../evil", "clips/a.flac", "C:\\evil", "journal.lock"),
    *("clips/000001.flac/x", "journal.jsonl ", "JOURNAL.JSONL", "clips\\000001.flac", "x\0y"),
    *("clips/", "manifest.json/x", "journal.torn-", "report.html\n", "clips/000999.flac"),
    *(
        "journal.torn-9",
        "spoken.wav",
        "\u202egpj.exe",
        "clips/000001.flac:stream",
        "./journal.head",
    ),
    *("~/evil", "clips//000001.flac", "x" * 70_000, "\ud7ff", "con", "clips/nul"),
)
VISITS = (
    *("..", ".", "", "a/b", "/tmp/x", ".hidden", "a\\b", "x" * 90, "CON", "nul.visit", "a.", "a:b"),
    *("\x1b[2J", "a\nb", "a\0b", "COM9", "LPT1.zip", "ü", " ", "-rf"),
)


def zipped(files: Files, manifest: dict[str, object] | bytes, mode: int = 0) -> bytes:
    """Builds a pack of these files, whatever their names."""
    content_of_manifest = manifest if isinstance(manifest, bytes) else json.dumps(manifest).encode()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {**files, "manifest.json": content_of_manifest}.items():
            entry = zipfile.ZipInfo(name)
            entry.external_attr = (mode if name != "manifest.json" else 0) << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return packed.getvalue()


def manifest_of(manifest: dict[str, object], files: Files) -> dict[str, object]:
    """Builds a manifest with the sizes and hashes of these files."""
    listed = {
        name: {"size": len(content), "sha256": sha256_of(content)}
        for name, content in files.items()
    }
    return {**manifest, "files": listed}


def packs(good: bytes, rng: random.Random, damaged: int) -> Iterator[tuple[str, bytes]]:
    """Lists every malicious pack, with what is wrong with it."""
    with zipfile.ZipFile(io.BytesIO(good)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    for name in NAMES:
        if len(name) < 65_536:
            more = {**files, name: b"MZ"}
            yield "a file name that no visit has", zipped(more, manifest_of(manifest, more))
            yield "a name that its manifest hides", zipped(more, manifest)
    for name in VISITS:
        yield (
            "an invalid name of a visit",
            zipped(files, {**manifest_of(manifest, files), "name": name}),
        )
    for key in ("head", "format", "version", "files", "name"):
        for value in (None, 10**30, [], {}, "9" * 5000, {"": {"size": -1, "sha256": ""}}):
            yield "a manifest of another shape", zipped(files, {**manifest, key: value})
    for text in (b"", b"null", b"[" * 5000, b'{"name": ' + b"9" * 5000 + b"}", b"\xef\xbb\xbf{}"):
        yield "an invalid manifest", zipped(files, text)
    for name in files:
        less = {each: content for each, content in files.items() if each != name}
        yield "a file that is missing", zipped(less, manifest)
        for content in (b"", b"\0" * 2_000_000, b"<script>alert(1)</script>", b"[" * 100_000):
            other = {**files, name: content}
            yield "another content", zipped(other, manifest_of(manifest, other))
    for mode in (stat.S_IFLNK, stat.S_IFIFO, stat.S_IFDIR, stat.S_IFCHR):
        yield "no regular file", zipped(files, manifest, mode | 0o777)
    for _ in range(damaged):
        at, length = rng.randrange(len(good)), rng.choice((1, 1, 4, 64))
        noise = bytes(rng.randrange(256) for _ in range(length))
        yield "damaged on the way", good[:at] + noise + good[at + length :]
    for _ in range(damaged // 5):
        yield "cut off", good[: rng.randrange(len(good))]


def all_below(folder: Path) -> set[str]:
    """Lists every file below a folder."""
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def attack(folder: Path, damaged: int, seed: int = 1) -> tuple[Counter[str], list[str]]:
    """Unpacks every malicious pack; returns the outcomes and the failures."""
    count: Counter[str] = Counter()
    wrong: list[str] = []
    every = folder / "made" / "every"
    write(every, lines())
    for visit in (small_visit(folder / "made" / "small"), every):
        good = pack(visit)
        for nth, (what, content) in enumerate(packs(good, random.Random(seed), damaged)):
            place = folder / "there"
            into = place / f"{visit.name}-{nth}"
            into.mkdir(parents=True)
            file = folder / "a.visit.zip"
            file.write_bytes(content)
            count["packs"] += 1
            before = all_below(folder) - {str(into.relative_to(folder))}
            try:
                done = unpack(file, into)
            except HandsfreeError as error:
                count["refused"] += 1
                if "\n" in str(error) or len(str(error)) > 1000:
                    wrong.append(f"{what}: no clear line: {str(error)[:200]!r}")
                if list(into.iterdir()):
                    wrong.append(f"{what}: something was written: {list(into.iterdir())}")
            except Exception as error:
                wrong.append(f"{what}: {type(error).__name__}: {error}"[:200])
            else:
                count["taken in, intact"] += 1
                if not reader.verify(done.folder).whole or done.folder.parent != into:
                    wrong.append(f"{what}: taken in, but not intact")
            outside = {
                path
                for path in all_below(folder) - before
                if not path.startswith(str(into.relative_to(folder)))
            }
            if outside:
                wrong.append(f"{what}: written outside: {sorted(outside)[:3]}")
    return count, wrong


def main() -> None:
    """Prints the outcomes; exit code 1 if anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--damaged", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        count, wrong = attack(Path(folder), options.damaged, options.seed)
    for kind, number in count.items():
        print(f"{kind}: {number}")
    print(f"went wrong: {len(wrong)}")
    for each, number in Counter(wrong).most_common(40):
        print(f"  {number} {each}")
    if wrong:
        sys.exit(1)


if __name__ == "__main__":
    main()
