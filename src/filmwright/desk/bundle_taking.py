"""The verb that takes a bundle of a lot into the record."""

from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filmwright.desk.bundle_form import MANIFEST, RECORD_JSON, Held, read, read_manifest, refusal
from filmwright.desk.files import record_place
from filmwright.desk.keeping import Tell, quiet
from filmwright.errors import BadInput, Problems
from filmwright.record import Store, digest, seal

_MOST_BYTES = 4 * 2**30
"""Of an unpacked bundle; more is no hand-over of a lot."""


@dataclass(frozen=True, kw_only=True)
class TakenAnswer:
    """What a bundle brought into the record."""

    lots: tuple[str, ...]
    entries: int
    files: int
    record: str
    heads: Mapping[str, str]

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lots": list(self.lots),
            "new_entries": self.entries,
            "files": self.files,
            "record": self.record,
            "heads": dict(self.heads),
        }


def record_import(bundle: Path, record: str | Path | None = None, tell: Tell = quiet) -> TakenAnswer:
    """Take a bundle into the record: hashes are checked first, and the same entries give the same seals.

    Parameters
    ----------
    bundle : Path
        A folder or a .zip, as :func:`record_export` wrote it.
    record : path, address or None
    tell : callable
        Told how far it is: done, of how many, with what.

    Raises
    ------
    BadInput
        When a file is missing or changed, a seal does not come out the same, or the record has other entries under a lot's name.
    """
    content = _checked(bundle)
    lots = read(_json(content[RECORD_JSON], bundle), f"{bundle}/{RECORD_JSON}")
    raw = {digest(each): each for path, each in content.items() if path.startswith("files/")}
    missing = [name for held in lots for sha256, name in held.kept().items() if sha256 not in raw]
    if missing:
        raise refusal("its files", "every file that is named in it", f"no {', '.join(missing[:3])}",
                      "take the bundle from its sender again", str(bundle))  # fmt: skip
    place = record_place(record)
    with Store.open(place, create=True) as store:
        _refuse_others(store, lots, bundle)
        total = sum(len(held.files) for held in lots)
        added = sum(_take(store, held, raw, total, tell) for held in reversed(lots))
        named = store.place
        heads = {held.lot.name: store.verify(held.lot.name).head for held in lots}
    return TakenAnswer(lots=tuple(heads), entries=added, files=len(raw), record=named, heads=heads)


def _take(store: Store, held: Held, raw: Mapping[str, bytes], total: int, tell: Tell) -> int:
    store.start_lot(held.lot)
    for event in held.events:
        if event.sha256:
            store.keep_blob(raw[event.sha256], name=event.name)
    added = store.append(held.events)
    for at, file in enumerate(held.files):
        tell(at, total, f"keeping files of lot {held.lot.name}")
        store.keep_file(file, raw[file.sha256])
    for accepted in held.accepted:
        store.accept(accepted)
    return added


def _refuse_others(store: Store, lots: Sequence[Held], bundle: Path) -> None:
    """Before anything is written: what the record has of these lots must be the beginning of what comes, and the seals must be right."""
    known = {lot.name: lot for lot in store.lots()}
    for held in lots:
        if seal(held.lot, held.events) != held.head:
            raise _unlike(held.lot.name, bundle)
        if held.lot.name in known:
            kept = store.events(held.lot.name)
            if known[held.lot.name] != held.lot or kept != held.events[: len(kept)]:
                raise refusal(
                    f"lot {held.lot.name}", "not in the record yet, or with the same entries",
                    "a lot of this name with other entries",
                    "look at both by filmwright log; take the bundle into a record of its own", str(bundle),
                )  # fmt: skip


def _unlike(lot: str, bundle: Path) -> BadInput:
    return refusal(
        f"the seal of lot {lot}", "the one that its entries give", "another one",
        "an entry was changed after the hand-over: take the bundle from its sender again", str(bundle),
    )  # fmt: skip


def _json(raw: bytes, bundle: Path) -> Any:
    try:
        return json.loads(raw)
    except (ValueError, RecursionError):
        raise refusal("its record.json", "JSON", "something else", "take the bundle from its sender again",
                      str(bundle)) from None  # fmt: skip


def _checked(bundle: Path) -> dict[str, bytes]:
    """The files of a bundle, every hash as its manifest says."""
    content = _read(bundle)
    if MANIFEST not in content or RECORD_JSON not in content:
        missing = MANIFEST if MANIFEST not in content else RECORD_JSON
        raise refusal("the bundle", "a hand-over of this program", f"no {missing} in it",
                      "name the folder or the .zip that filmwright record export wrote", str(bundle))  # fmt: skip
    hashes = read_manifest(content[MANIFEST].decode("utf-8", "replace"))
    problems = Problems()
    for path in sorted(set(hashes) | set(content) - {MANIFEST}):
        got = "missing" if path not in content else "not in the manifest" if path not in hashes else "changed"
        if path not in content or hashes.get(path) != digest(content[path]):
            problems.found.extend(
                refusal(f"{path} in the bundle", "as it was handed over", got,
                        "take the bundle from its sender again", str(bundle)).problems
            )  # fmt: skip
    problems.raise_any()
    return content


def _read(bundle: Path) -> dict[str, bytes]:
    try:
        if bundle.is_dir():
            paths = [path for path in sorted(bundle.rglob("*")) if path.is_file() and not path.is_symlink()]
            return {path.relative_to(bundle).as_posix(): path.read_bytes() for path in paths}
        with zipfile.ZipFile(bundle) as archive:
            infos = [info for info in archive.infolist() if not info.is_dir()]
            if sum(info.file_size for info in infos) > _MOST_BYTES:
                raise refusal(
                    "the bundle", "at most 4 GiB", "more", "hand the lot over in parts", str(bundle)
                )
            return {info.filename: archive.read(info) for info in infos}
    # A locked archive and a way of packing that is not known are told by a RuntimeError, torn bytes by zlib.
    except (OSError, zipfile.BadZipFile, RuntimeError, EOFError, zlib.error) as trouble:
        got = getattr(trouble, "strerror", None) or "no readable archive"
        raise refusal("the bundle", "a folder or a .zip", got, "check the name, and that it arrived whole",
                      str(bundle)) from None  # fmt: skip
