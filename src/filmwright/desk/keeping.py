"""Keeping a record: proving that it is as it was written, backing it up, bringing it back, moving it."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filmwright import __version__
from filmwright.desk.files import now, record_place
from filmwright.errors import BadInput, Problem
from filmwright.record import ChainCheck, Store

Tell = Callable[[int, int, str], None]

_FORM = "filmwright record backup 1"
_RECORD, _MANIFEST = "record.sqlite", "manifest.json"
_CHUNK = 1 << 20


@dataclass(frozen=True, kw_only=True)
class KeepingAnswer:
    """What was proved of a record.

    Attributes
    ----------
    record : str
        Where it is, without a password.
    did : str
        In words.
    chains : tuple of ChainCheck
        Of every lot and logbook.
    files : int
        How many kept files were read again.
    problems : tuple of str
        What does not fit, the first bad entry first; empty when all is well.
    """

    record: str
    did: str
    chains: tuple[ChainCheck, ...]
    files: int
    problems: tuple[str, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether something does not fit."""
        return bool(self.problems)

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "record": self.record,
            "did": self.did,
            "sound": not self.problems,
            "chains": [
                {"of": each.lot, "entries": each.entries, "head": each.head, "sound": each.sound,
                 "first_bad": each.first_bad, "why": each.why}
                for each in self.chains
            ],
            "files": self.files,
            "problems": list(self.problems),
        }  # fmt: skip


def quiet(done: int, total: int, what: str) -> None:
    """Tell nobody."""


def record_verify(record: str | Path | None = None, tell: Tell = quiet) -> KeepingAnswer:
    """Walk every chain of a record and read every kept file again.

    Parameters
    ----------
    record : str, Path or None
    tell : callable
        Called with how much is done, how much there is and of what.
    """
    with Store.open(record_place(record)) as store:
        return _verified(store, f"verified {store.place}", tell)


def record_backup(into: Path, record: str | Path | None = None, tell: Tell = quiet) -> KeepingAnswer:
    """Back a record up into a new folder, while others go on writing.

    Parameters
    ----------
    into : Path
        The folder; it must not be there yet.
    record : str, Path or None
    tell : callable
    """
    with Store.open(record_place(record)) as store, _made_whole(into) as coming:
        store.back_up(coming / _RECORD, tell)
        with Store.open(coming / _RECORD) as copied:
            checked = _verified(copied, f"backed up {store.place} into {into}", tell)
        # Writing an empty log away leaves one file that says everything.
        _without_log(coming / _RECORD)
        if not checked.stopped:
            _write_manifest(coming, checked, store.place)
        else:
            raise _refusal("the backup", "sound in every entry", checked.problems[0],
                           "a backup of what does not fit would hide it",
                           f"run filmwright record verify on {store.place}", str(into))  # fmt: skip
    return checked


def record_restore(
    backup: Path, record: str | Path | None = None, replace: bool = False, tell: Tell = quiet
) -> KeepingAnswer:
    """Bring a record back from a backup, proved before anything is put in its place.

    Parameters
    ----------
    backup : Path
        The folder that ``record_backup`` made.
    record : str, Path or None
        Where to; a file, or an empty database.
    replace : bool
        Whether a file that is there gives way; it is kept beside, under another name.
    tell : callable
    """
    place = record_place(record)
    manifest = _read_manifest(backup)
    _check_way(place, replace)
    _check_files(backup, manifest, tell)
    with tempfile.TemporaryDirectory(prefix="filmwright-") as folder:
        work = Path(folder) / _RECORD
        shutil.copyfile(backup / _RECORD, work)
        _files_of(work).symlink_to(_files_of(backup / _RECORD).resolve())
        with Store.open(work) as store:
            _check_heads(_verified(store, "", quiet), manifest, backup)
            if _is_database(place):
                with Store.open(place, create=True) as target:
                    store.copy_into(target, tell)
                aside = ""
            else:
                aside = _put_in_place(store, Path(place), tell)
    kept_aside = f"; the record that was there is now {aside}" if aside else ""
    with Store.open(place) as store:
        return _verified(store, f"brought {backup} back to {store.place}{kept_aside}", tell)


def record_copy(into: str, record: str | Path | None = None, tell: Tell = quiet) -> KeepingAnswer:
    """Copy a record to an empty one: from a file to a database, or back.

    Parameters
    ----------
    into : str
        A new file, or the URL of an empty database.
    record : str, Path or None
    tell : callable
    """
    with Store.open(record_place(record)) as store, Store.open(into, create=True) as target:
        store.copy_into(target, tell)
        after = _verified(target, f"copied {store.place} to {target.place}", tell)
        lots = {each.name for each in target.lots()}
        # The record may have grown meanwhile: each copied chain must be a beginning of the chain it came from.
        wrong = [
            each.lot
            for each in after.chains
            if not (store.verify if each.lot in lots else store.verify_book)(each.lot, head=each.head).sound
        ]
    if wrong:
        raise _refusal("the copy", "with the chains of the record", f"another chain of {wrong[0]}",
                       "the same entries have the same digests", "run record verify on both",
                       after.record)  # fmt: skip
    return after


def _verified(store: Store, did: str, tell: Tell) -> KeepingAnswer:
    lots, books, kept = store.lots(), store.books(), store.kept()
    total, done = len(lots) + len(books) + len(kept), 0
    chains, problems = [], []
    for check, names, of in ((store.verify, [each.name for each in lots], "lot"),
                             (store.verify_book, books, "logbook")):  # fmt: skip
        for name in names:
            chains.append(check(name))
            if not chains[-1].sound:
                problems.append(f"{of} {name}: {chains[-1].why}")
            done += 1
            tell(done, total, f"{of} {name}")
    problems.extend(store.verify_rest())
    for each in kept:
        try:
            store.raw(each.sha256)
        except BadInput as bad:
            problems.extend(f"file {each.name or each.sha256[:12]}: {one.got}" for one in bad.problems)
        done += 1
        tell(done, total, f"file {each.name or each.sha256[:12]}")
    return KeepingAnswer(record=store.place, did=did, chains=tuple(chains), files=len(kept),
                         problems=tuple(problems))  # fmt: skip


@contextmanager
def _made_whole(into: Path) -> Iterator[Path]:
    """A folder that gets its name only when all is in it; whatever stops it leaves nothing behind."""
    if into.exists():
        raise _refusal("the folder of the backup", "a new one", "one that is there",
                       "an older backup must not be lost for a newer one", "name another folder", str(into))  # fmt: skip
    if not into.parent.is_dir():
        raise _refusal("the folder of the backup", "in a folder that exists", f"no folder {into.parent}",
                       "it would end up in an unexpected place", "make the folder first", str(into))  # fmt: skip
    try:
        coming = Path(tempfile.mkdtemp(prefix=f".{into.name}-", dir=into.parent))
    except OSError as trouble:
        raise _refusal("the folder of the backup", "where it can be written", trouble.strerror or "an error",
                       "a backup counts only once it is on the disk", "name another place", str(into)) from None  # fmt: skip
    try:
        yield coming
        coming.chmod(0o755)
        coming.rename(into)
    except OSError as trouble:
        raise _refusal("the backup", "on a disk that takes it", trouble.strerror or "an error of the disk",
                       "it was not kept", "make room or check the disk, then repeat", str(into)) from None  # fmt: skip
    finally:
        shutil.rmtree(coming, ignore_errors=True)


def _write_manifest(folder: Path, checked: KeepingAnswer, source: str) -> None:
    content = {
        "form": _FORM,
        "made": now(),
        "program": __version__,
        "record": source,
        "heads": {each.lot: {"entries": each.entries, "head": each.head} for each in checked.chains},
        "sha256": {
            str(each.relative_to(folder)): _sha256(each)
            for each in sorted(folder.rglob("*"))
            if each.is_file()
        },
    }
    path = folder / _MANIFEST
    path.write_text(json.dumps(content, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    number = os.open(path, os.O_RDONLY)
    os.fsync(number)
    os.close(number)


def _read_manifest(backup: Path) -> dict[str, Any]:
    try:
        content = json.loads((backup / _MANIFEST).read_text(encoding="utf-8"))
        if content["form"] == _FORM and isinstance(content["sha256"], dict) and content["heads"] is not None:
            return dict(content)
    except (OSError, ValueError, TypeError, KeyError):
        pass
    raise _refusal("the backup", f"a folder with {_MANIFEST}", "none of this form",
                   "what cannot be checked is not brought back", "name the folder that the backup made",
                   str(backup))  # fmt: skip


def _check_files(backup: Path, manifest: dict[str, Any], tell: Tell) -> None:
    wanted = manifest["sha256"]
    for done, (name, sha256) in enumerate(wanted.items(), start=1):
        path = backup / name
        if ".." in Path(name).parts or Path(name).is_absolute() or not path.is_file():
            got = f"no {name}"
        elif _sha256(path) != sha256:
            got = f"changed bytes in {name}"
        else:
            tell(done, len(wanted), name)
            continue
        raise _refusal("the backup", "as it was made", got, "what was changed is not brought back",
                       "take an older backup", str(backup))  # fmt: skip
    if _RECORD not in wanted:
        raise _refusal("the backup", f"with {_RECORD}", "none", "there is nothing to bring back",
                       "take an older backup", str(backup))  # fmt: skip


def _check_heads(checked: KeepingAnswer, manifest: dict[str, Any], backup: Path) -> None:
    problems = list(checked.problems)
    found = {each.lot: {"entries": each.entries, "head": each.head} for each in checked.chains}
    if found != manifest["heads"]:
        problems.append("chains that end elsewhere than its list says")
    if problems:
        raise _refusal("the backup", "sound in every entry", problems[0],
                       "what does not fit is not brought back", "take an older backup", str(backup))  # fmt: skip


def _is_database(place: str | Path) -> bool:
    return str(place).startswith("postgres")


def _check_way(place: str | Path, replace: bool) -> None:
    """Refuse to bring something back over a record that is there, unless it may be moved aside."""
    if _is_database(place) or not Path(place).exists():
        return
    if not replace:
        raise _refusal("the record", "a new file", "one that is there",
                       "what is in it would be lost", "name a new file, or add --replace to move it aside",
                       str(place))  # fmt: skip
    with Store.open(place) as there:
        there.lots()
    if Path(place).with_name(Path(place).name + "-wal").exists():
        raise _refusal("the record", "closed by every program", "one that is open",
                       "what is being written would be lost", "stop filmwright serve, then repeat", str(place))  # fmt: skip


def _put_in_place(store: Store, path: Path, tell: Tell) -> str:
    """Make the whole record beside its place, then move it there; gives the new name of a file that was there."""
    coming = path.with_name(f".{path.name}-coming-{os.getpid()}")
    aside = path.with_name(f"{path.stem}-before-{now()[:19].replace(':', '')}{path.suffix}")
    moves = [(path, aside), (_files_of(path), _files_of(aside))] if path.exists() else []
    try:
        store.back_up(coming, tell)
        for old, new in [*moves, (_files_of(coming), _files_of(path)), (coming, path)]:
            if old.exists():
                old.rename(new)
    finally:
        coming.unlink(missing_ok=True)
        shutil.rmtree(_files_of(coming), ignore_errors=True)
    return str(aside) if moves else ""


def _files_of(path: Path) -> Path:
    return path.with_name(path.name + ".files")


def _without_log(path: Path) -> None:
    """Remove an empty log and its index, which a closed SQLite file may leave beside it."""
    log = path.with_name(path.name + "-wal")
    if log.exists() and log.stat().st_size == 0:
        log.unlink()
        path.with_name(path.name + "-shm").unlink(missing_ok=True)


def _sha256(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            found.update(chunk)
    return found.hexdigest()


def _refusal(what: str, expected: str, got: str, why: str, remedy: str, file: str) -> BadInput:
    return BadInput(Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=file))
