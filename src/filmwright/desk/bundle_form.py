"""The form of a hand-over bundle: which files it has, and how the record's objects stand in ``record.json``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any, TypeVar

from filmwright.errors import BadInput, Problem
from filmwright.knowledge import Calibration
from filmwright.record import AcceptedCalibration, Event, Lot, MeasurementFile

FORM = 1
"""Of ``record.json``; a newer one is refused by an older program."""

RECORD_JSON = "record.json"
MANIFEST = "manifest-sha256.txt"
_LINE = re.compile(r"([0-9a-f]{64})  (.+)")

Object = TypeVar("Object")


@dataclass(frozen=True, kw_only=True)
class Held:
    """One lot with everything that the record has of it.

    Attributes
    ----------
    lot : Lot
    head : str
        Seal of its last entry.
    events : tuple of Event
    accepted : tuple of AcceptedCalibration
    files : tuple of MeasurementFile
    """

    lot: Lot
    head: str
    events: tuple[Event, ...]
    accepted: tuple[AcceptedCalibration, ...]
    files: tuple[MeasurementFile, ...]

    def kept(self) -> dict[str, str]:
        """SHA-256 of every file that belongs to it, with a name for each."""
        named = {each.sha256: each.name for each in self.files}
        for event in self.events:
            if event.sha256:
                usual = "flow.yaml" if event.kind == "flow" else "file"
                named.setdefault(event.sha256, event.name or usual)
        return named


def written(lots: Iterable[Held], version: str) -> dict[str, Any]:
    """The content of ``record.json``."""
    return {
        "form": FORM,
        "program": f"filmwright {version}",
        "lots": [
            {
                "lot": asdict(each.lot),
                "head": each.head,
                "entries": [asdict(event) for event in each.events],
                "accepted": [asdict(accepted) for accepted in each.accepted],
                "files": [asdict(file) for file in each.files],
            }
            for each in lots
        ],
    }


def read(content: Any, where: str) -> tuple[Held, ...]:
    """What ``record.json`` holds.

    Parameters
    ----------
    content : Any
        As parsed from JSON.
    where : str
        Name of the file, for messages.

    Raises
    ------
    BadInput
    """
    form = content.get("form") if isinstance(content, dict) else None
    if form != FORM:
        raise refusal("its form", f"form {FORM}", f"form {form}", "use the version that wrote it", where)
    try:
        return tuple(_held(each) for each in content["lots"])
    except (KeyError, TypeError, AttributeError) as trouble:
        raise refusal(
            "its content", "lots with entries, calibrations and files", f"no {trouble}",
            "take the bundle from its sender again", where,
        ) from None  # fmt: skip


def _held(told: Mapping[str, Any]) -> Held:
    lot = dict(told["lot"])
    return Held(
        lot=_made(Lot, {**lot, "wafers": tuple(lot["wafers"])}),
        head=str(told["head"]),
        events=tuple(_made(Event, each) for each in told["entries"]),
        accepted=tuple(
            _made(AcceptedCalibration, {**each, "calibration": _made(Calibration, each["calibration"])})
            for each in told["accepted"]
        ),
        files=tuple(_made(MeasurementFile, each) for each in told["files"]),
    )


def _made(kind: type[Object], told: Mapping[str, Any]) -> Object:
    known = {each.name for each in fields(kind)}  # type: ignore[arg-type]
    strange = sorted(set(told) - known)
    if strange:
        raise TypeError(f"place for {', '.join(strange)} in {kind.__name__}")
    return kind(**told)


def manifest(hashes: Mapping[str, str]) -> str:
    """Lines as ``sha256sum`` reads them: the hash, two blanks, the path."""
    return "".join(f"{sha256}  {path}\n" for path, sha256 in sorted(hashes.items()))


def read_manifest(text: str) -> dict[str, str]:
    """Hashes by path.

    Raises
    ------
    BadInput
        For the first line that is none.
    """
    found = {}
    for number, line in enumerate(text.splitlines(), 1):
        fit = _LINE.fullmatch(line)
        if fit is None:
            raise refusal(
                f"line {number}", "a SHA-256, two blanks and a path", f'"{line[:80]}"',
                "take the bundle from its sender again", MANIFEST,
            )  # fmt: skip
        found[fit[2]] = fit[1]
    return found


def refusal(what: str, expected: str, got: str, remedy: str, file: str) -> BadInput:
    """The refusal of a bundle."""
    return BadInput(
        Problem(
            what=what,
            expected=expected,
            got=got,
            why="a bundle is taken whole or not at all",
            remedy=remedy,
            file=file,
        )
    )
