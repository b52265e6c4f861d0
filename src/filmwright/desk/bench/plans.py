"""Plan files of the served folder: listed, read, and saved whole with the version that was read."""

from __future__ import annotations

import difflib
import json
import re
import threading
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from filmwright.desk.files import LAB_NAME, now, write
from filmwright.errors import BadInput, Problem, nearest
from filmwright.record import digest

ENDINGS = (".yaml", ".yml")
MOST_BYTES = 400_000
"""A plan of more is no plan that a person wrote."""
VERSIONS = "versions"
"""Folder beside a plan that keeps what it said before, with the reasons."""

_SEGMENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,79}")
_DEPTH = 3
_SAVING = threading.Lock()
_START = re.compile(r"^(?:flow|steps):", re.MULTILINE)


@dataclass(frozen=True, kw_only=True)
class PlanFile:
    """A plan file as it is listed.

    Attributes
    ----------
    name : str
        Path within the folder, with slashes.
    title : str
        Of the flow; empty where it cannot be told.
    changed : str
        ISO time with offset.
    """

    name: str
    title: str
    changed: str


@dataclass(frozen=True, kw_only=True)
class PlanText:
    """A plan file as it was read.

    Attributes
    ----------
    name, text : str
    digest : str
        SHA-256 of the text: who saves says with it what was read.
    """

    name: str
    text: str
    digest: str


@dataclass(frozen=True, kw_only=True)
class Saved:
    """One version of a plan file: what it said, since when, by whom and why."""

    digest: str
    when: str
    who: str
    reason: str
    text: str

    def fields(self) -> dict[str, Any]:
        """For programs, without the text."""
        return {key: value for key, value in asdict(self).items() if key != "text"}


class SavedMeanwhile(BadInput):
    """Somebody saved the plan after it was read; ``current`` is what stands there now."""

    def __init__(self, problem: Problem, current: PlanText) -> None:
        super().__init__(problem)
        self.current = current


def plan_files(folder: Path) -> tuple[PlanFile, ...]:
    """The plans of a folder, by name."""
    return tuple(
        PlanFile(name=name, title=_title(path), changed=_changed(path)) for name, path in _plans(folder)
    )


def _plans(folder: Path) -> Iterator[tuple[str, Path]]:
    root = folder.resolve()
    for path in sorted(root.rglob("*.y*ml")):
        name = path.relative_to(root).as_posix()
        if _sound(name) and path.is_file() and _inside(path, root) and _START.search(_text(path)):
            yield name, path


def _sound(name: str) -> bool:
    """Whether a name stays within the folder and is that of a plan."""
    parts = PurePosixPath(name).parts
    return (
        0 < len(parts) <= _DEPTH
        and "/".join(parts) == name
        and all(_SEGMENT.fullmatch(part) and not part.endswith((".", " ")) for part in parts)
        and parts[-1].lower().endswith(ENDINGS)
        and parts[-1].lower() != LAB_NAME
        and VERSIONS not in parts[:-1]
    )


def _inside(path: Path, root: Path) -> bool:
    return path.resolve().is_relative_to(root)


def _text(path: Path) -> str:
    try:
        return path.read_bytes()[: MOST_BYTES + 1].decode("utf-8-sig", "replace")
    except OSError:
        return ""


def _title(path: Path) -> str:
    found = re.search(r"^flow:[ \t]*(.+?)[ \t]*$", _text(path), re.MULTILINE)
    return found[1].strip("\"'") if found else ""


def _changed(path: Path) -> str:
    import datetime

    moment = datetime.datetime.fromtimestamp(path.stat().st_mtime).astimezone()
    return moment.isoformat(timespec="seconds")


def place_of(folder: Path, name: str, *, new: bool = False) -> Path:
    """Where a plan of the folder lies.

    Raises
    ------
    BadInput
        For a name that leads out of the folder or is that of no plan; with ``new`` it need not be there yet.
    """
    root = folder.resolve()
    path = root / name if _sound(name) else root
    if path == root or not _inside(path, root):
        raise _wrong_name(name)
    if not new and not path.is_file():
        names = [each for each, _ in _plans(folder)]
        raise BadInput(
            Problem(
                what="the plan",
                expected="one that lies in the folder of plans",
                got=f'"{name}"',
                why="only these are shown and changed here",
                remedy=nearest(name, names) if names else "save a new plan first",
            )
        )
    return path


def _wrong_name(name: str) -> BadInput:
    shown = name[:80]
    return BadInput(
        Problem(
            what="the name of a plan",
            expected="letters, digits, dots and dashes that end in .yaml",
            got=f'"{shown}"',
            why="it is a file of the folder of plans, and of no other",
            remedy='write it like "humidity-switch.yaml"',
        )
    )


def read_plan(folder: Path, name: str) -> PlanText:
    """A plan of the folder."""
    path = place_of(folder, name)
    raw = _read(path, name)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        raise BadInput(
            Problem(
                what="the plan",
                expected="UTF-8 text",
                got=f"bytes that are not (at byte {trouble.start})",
                why="it is read as text",
                remedy="save it as UTF-8 with another editor first",
                file=name,
            )
        ) from None
    return PlanText(name=name, text=text, digest=digest(text))


def _read(path: Path, name: str) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _too_long(name, path.stat().st_size)
        return path.read_bytes()
    except OSError as trouble:
        raise BadInput(
            Problem(
                what="the plan",
                expected="a readable file",
                got=trouble.strerror or "an unreadable file",
                why="it is shown as it stands",
                remedy="check that the file may be read",
                file=name,
            )
        ) from None


def _too_long(name: str, size: int) -> BadInput:
    return BadInput(
        Problem(
            what="the plan",
            expected=f"at most {MOST_BYTES // 1000} kB",
            got=f"{size // 1000} kB",
            why="a plan is written by a person",
            remedy="check that it is the right file",
            file=name,
        )
    )


def save_plan(folder: Path, name: str, text: str, *, seen: str, who: str, reason: str) -> PlanText:
    """Save a plan whole; what it said before is kept with the reason of the change.

    Parameters
    ----------
    folder : Path
    name, text : str
    seen : str
        Digest of what was read; empty for a plan that is new.
    who, reason : str

    Raises
    ------
    SavedMeanwhile
        When the file is no longer what was read; nothing is written then.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    _check_saved(text, name, reason)
    path = place_of(folder, name, new=True)
    with _SAVING:
        before = read_plan(folder, name) if path.is_file() else None
        if before is not None and before.text == text:
            return before
        if (before.digest if before else "") != seen:
            raise _meanwhile(name, before)
        _keep_version(path, before, Saved(digest=digest(text), when=now(), who=who, reason=reason, text=text))
        write(path, text)
    return PlanText(name=name, text=text, digest=digest(text))


def _check_saved(text: str, name: str, reason: str) -> None:
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise _too_long(name, len(text))
    if not text.strip():
        raise _refusal(
            "the plan", "a text", "an empty one", "an empty plan does nothing", "write it first", name
        )
    if "\0" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        raise _refusal(
            "the plan", "plain text", "characters that cannot be written", "it must read the same everywhere",
            "take them out", name,
        )  # fmt: skip
    if not reason.strip():
        raise _refusal(
            "the reason of the change", "one sentence", "nothing", "somebody else will ask why",
            "say what was changed and why", name,
        )  # fmt: skip


def _refusal(what: str, expected: str, got: str, why: str, remedy: str, name: str) -> BadInput:
    return BadInput(Problem(what=what, expected=expected, got=got, why=why, remedy=remedy, file=name))


def _meanwhile(name: str, current: PlanText | None) -> BadInput:
    if current is None:
        return _refusal(
            "the plan", "still there", "no such file", "it was removed or renamed after you opened it",
            "save it under a new name", name,
        )  # fmt: skip
    return SavedMeanwhile(
        Problem(
            what="the plan",
            expected="as you opened it",
            got="another text, saved by somebody else in between",
            why="saving over it would lose their changes",
            remedy="look at both below, take over what is theirs, and save again",
            file=name,
        ),
        current,
    )


def _log_of(path: Path) -> Path:
    return path.parent / VERSIONS / f"{path.name}.jsonl"


def _keep_version(path: Path, before: PlanText | None, saved: Saved) -> None:
    """Append a version; the text that was there before anybody saved here is kept as the first."""
    log = _log_of(path)
    lines = log.read_text("utf-8") if log.is_file() else ""
    kept = versions_in(lines)
    if before is not None and (not kept or kept[-1].digest != before.digest):
        found = Saved(
            digest=before.digest, when=_changed(path), who="", reason="as it was found", text=before.text
        )
        lines += json.dumps(asdict(found), ensure_ascii=False) + "\n"
    write(log, lines + json.dumps(asdict(saved), ensure_ascii=False) + "\n")


def plan_versions(folder: Path, name: str) -> tuple[Saved, ...]:
    """The versions of a plan that were saved here, oldest first."""
    log = _log_of(place_of(folder, name))
    return versions_in(log.read_text("utf-8")) if log.is_file() else ()


def versions_in(lines: str) -> tuple[Saved, ...]:
    """Versions from their file; a line that somebody damaged is passed over."""
    found = []
    for line in lines.splitlines():
        try:
            row = json.loads(line)
            found.append(Saved(**{key: str(row[key]) for key in ("digest", "when", "who", "reason", "text")}))
        except (ValueError, KeyError, TypeError):
            continue
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class DifferenceLine:
    """One line of a difference.

    Attributes
    ----------
    sign : str
        ``+`` came, ``-`` went, blank stayed, ``@`` begins another place.
    old, new : int or None
        Line numbers.
    text : str
    """

    sign: str
    old: int | None
    new: int | None
    text: str


def difference(before: str, after: str, around: int = 2) -> tuple[DifferenceLine, ...]:
    """Two texts line by line: what went and what came, with a few lines around.

    Parameters
    ----------
    before, after : str
    around : int
        Lines that are shown to either side of a change.
    """
    old, new = before.splitlines(), after.splitlines()
    found: list[DifferenceLine] = []
    for group in difflib.SequenceMatcher(None, old, new, autojunk=False).get_grouped_opcodes(around):
        if found:
            found.append(DifferenceLine(sign="@", old=None, new=None, text="…"))
        for kind, a0, a1, b0, b1 in group:
            if kind == "equal":
                found += [
                    DifferenceLine(sign=" ", old=a0 + k + 1, new=b0 + k + 1, text=old[a0 + k])
                    for k in range(a1 - a0)
                ]
                continue
            found += [DifferenceLine(sign="-", old=k + 1, new=None, text=old[k]) for k in range(a0, a1)]
            found += [DifferenceLine(sign="+", old=None, new=k + 1, text=new[k]) for k in range(b0, b1)]
    return tuple(found)
