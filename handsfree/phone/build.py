"""Builds the app: static files stored on the phone, each with its hash in app.json."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path

import handsfree
from handsfree import __version__
from handsfree.data import data_folder
from handsfree.errors import PhoneError
from handsfree.job.record import Record
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.head_file import Head
from handsfree.language.interpreter import Language
from handsfree.phone import onset_weights, voice_net
from handsfree.phone.carried_job import CarriedJob, job_of
from handsfree.phone.parts import checked_part, pinned
from handsfree.phone.prompt_sounds import Prompts, rendered
from handsfree.phone.prompt_texts import texts_to_render
from handsfree.phone.sound_files import model_archive, noise, tones
from handsfree.phone.start_page import invented_job, start_page
from handsfree.phone.vosk_worker import NAME, adapted
from handsfree.recognition.speech_model import SpeechModel
from handsfree.synthesis.voice import Voice

STATIC = Path(__file__).parent / "static"
LIST, WORKER, PAGES = "app.json", "sw.js", ("index.html", "leaf.html")
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "worker-src 'self'",
        "connect-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "manifest-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
    )
)
"""Content security policy of the app. It loads nothing from other hosts; 'wasm-unsafe-eval' allows
WebAssembly but no evaluation of script.
"""
_PACKAGE = Path(handsfree.__file__).parent
_ON_PHONE = {".py", ".toml", ".jsgf", ".typed"}
_NOT_ON_PHONE = {"cli", "office", "ledger", "training", "rehearsal", "public", "static", "_data"}
_TIME = (1980, 1, 1, 0, 0, 0)  # so that the same input gives the same bytes


LARGEST_BYTES = 44_500_000
"""Size up to which prompts are put into the app, besides their index and the list of files."""
VoiceOf = Callable[[Language], Voice | None]


class Built(Record):
    """A built app: its version, the number of files, their size in bytes.

    ``left_out`` counts the sentences, by language, that are spoken in pieces for lack of room.
    """

    version: str
    files: int
    bytes: int
    left_out: dict[str, int]


def build(
    folder: Path,
    parts: Path,
    languages: tuple[str, ...],
    jobs: Sequence[CarriedJob] = (),
    *,
    voice_of: VoiceOf | None = None,
    room_bytes: int | None = None,
) -> Built:
    """Builds the app into a new or empty folder, or over an earlier app.

    ``languages`` are those with a speech model; every language can be typed. ``jobs`` are included.
    ``voice_of`` gives the voice that renders the prompts of a language, each within ``room_bytes``,
    by default its share of what LARGEST_BYTES leave. Without a voice a phone that has none only
    shows the prompts. Raises PhoneError if a part is missing or wrong, or if the folder holds
    something else.
    """
    if folder.exists() and any(folder.iterdir()) and not (folder / LIST).is_file():
        raise PhoneError(
            "this folder holds something else", file=folder, way_out="name a new folder"
        )
    files = {part.to: checked_part(part, parts) for part in pinned()}
    files["python/handsfree.zip"] = own_code()
    files[NAME] = adapted(files[NAME])
    models = {name: SpeechModel.load(language=name) for name in languages}
    archives = {}
    for name, model in models.items():
        archive = model_archive(model, Language.load(language=name))
        # Phones store the unpacked model under this name.
        archives[name] = f"model/{name}-{sha256_of(archive)[:12]}.tar.gz"
        files[archives[name]] = archive
    files |= {"voice-net.bin": voice_net.weights(), "onset-net.bin": onset_weights.weights()}
    files |= tones() | {"noise.bin": noise()}
    files["start.json"] = start_page(jobs).encode()
    for file in sorted(STATIC.iterdir()):
        files[file.name] = file.read_bytes()
    for page in PAGES:
        files[page] = files[page].replace(b"@POLICY@", POLICY.encode())
    left_out = {}
    if room_bytes is None:
        free_bytes = LARGEST_BYTES - sum(map(len, files.values()))
        room_bytes = max(0, free_bytes) // max(1, len(languages))
    for name in languages:
        language = Language.load(language=name)
        voice = None if voice_of is None else voice_of(language)
        if voice is not None:
            prompts = _prompts(language, jobs, voice, room_bytes)
            files |= {f"prompts-{name}.json": prompts.index, f"prompts-{name}.bin": prompts.sounds}
            left_out[name] = prompts.left_out
    hashes = {
        name: _integrity(content) for name, content in sorted(files.items()) if name != WORKER
    }
    listed = {
        "version": __version__,
        "policy": POLICY,
        "models": {one: f"{model.name} {model.sha256[:12]}" for one, model in models.items()},
        "archives": archives,
        "prompts": sorted(left_out),
        "wheels": [part.to for part in pinned() if part.to.startswith("python/")],
        "first_head": Head().model_dump_json() + "\n",
        "files": hashes,
    }
    # The worker contains the list, so a changed file changes the worker, and phones update.
    listing = json.dumps(listed, sort_keys=True, indent=1).encode()
    files[LIST] = listing + b"\n"
    files[WORKER] = files[WORKER].replace(b"/*APP*/ null", listing)
    _write(folder, files)
    size = sum(map(len, files.values()))
    return Built(version=__version__, files=len(files), bytes=size, left_out=left_out)


def _prompts(
    language: Language, jobs: Sequence[CarriedJob], voice: Voice, room_bytes: int
) -> Prompts:
    try:
        texts = texts_to_render(language, [job_of(invented_job()), *jobs])
        return rendered(texts, voice, language.wording, room_bytes)
    finally:
        voice.close()


def own_code() -> bytes:
    """The part of this package that runs on a phone, and the grammars, as a zip."""
    inside = {
        f"handsfree/{path.relative_to(_PACKAGE).as_posix()}": path
        for path in _PACKAGE.rglob("*")
        if path.suffix in _ON_PHONE
        and path.is_file()
        and not _NOT_ON_PHONE & set(path.relative_to(_PACKAGE).parts)
        and not any(part.startswith("model") for part in path.relative_to(_PACKAGE).parts[:-1])
    }
    grammars = data_folder("grammars")
    inside |= {
        f"handsfree/_data/grammars/{path.relative_to(grammars).as_posix()}": path
        for path in grammars.rglob("*")
        if path.suffix in _ON_PHONE
    }
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, path in sorted(inside.items()):
            entry = zipfile.ZipInfo(name, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, path.read_bytes())
    return packed.getvalue()


def _integrity(content: bytes) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()


def _write(folder: Path, files: dict[str, bytes]) -> None:
    """Writes all files, then replaces an earlier app with them."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".building-") as beside:
        fresh = Path(beside) / "app"
        for name, content in files.items():
            (fresh / name).parent.mkdir(parents=True, exist_ok=True)
            (fresh / name).write_bytes(content)
        if folder.exists():
            shutil.rmtree(folder)
        fresh.rename(folder)
