"""What a person tells of a lot beside values: decisions, places, pieces, moves, timers, photos, and what was wrong."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.pieces import Move, move, piece_of
from filmwright.desk.files import now
from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import LOGGED
from filmwright.record import Event, piece_name
from filmwright.units import UnitProblem, read

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_DECISIONS = ("go", "rework", "scrap")
_SHORTEST_ID = 4


@dataclass(frozen=True, kw_only=True)
class Told:
    """One word per thing that can be told; empty where it was not.

    Attributes
    ----------
    hold : str
        ``go``, ``rework`` or ``scrap``.
    place, carrier, orientation : str
    cleave : int
        How many pieces are cut off the wafer.
    move_to, take_from : str
        Lots.
    acknowledge : str
        Name of a finding, a check or ``hold point``.
    extra : str
        A step beyond the plan, written as in a plan.
    undo, correct : str
        Id of an entry, or its beginning.
    timer : str
        ``soak=5 min``.
    photo : Path or None
    """

    hold: str = ""
    place: str = ""
    carrier: str = ""
    orientation: str = ""
    cleave: int = 0
    move_to: str = ""
    take_from: str = ""
    acknowledge: str = ""
    extra: str = ""
    undo: str = ""
    correct: str = ""
    timer: str = ""
    photo: Path | None = None

    @property
    def anything(self) -> bool:
        """Whether anything was told."""
        return any(getattr(self, each.name) for each in fields(self) if each.name != "correct")


@dataclass(frozen=True, kw_only=True)
class Around:
    """What belongs to every entry of one call.

    Attributes
    ----------
    lot, step, wafer, note, who, happened : str
    """

    lot: str
    step: str = ""
    wafer: str = ""
    note: str = ""
    who: str = ""
    happened: str = ""


def entries_told(bench: Bench, told: Told, around: Around) -> tuple[Event, ...]:
    """The entries of what was told, not yet kept; a wafer that moves is another call.

    Raises
    ------
    BadInput
    """
    found: list[Event] = []
    if told.hold:
        _one_of("the decision", told.hold, _DECISIONS)
        found.append(_event(bench, around, "hold", name=told.hold, text=around.note))
    for name in ("location", "carrier", "orientation"):
        text = told.place if name == "location" else getattr(told, name)
        if text:
            found.append(_event(bench, around, "place", name=name, text=text, step=""))
    found += _pieces(bench, told, around)
    if told.acknowledge:
        found.append(_event(bench, around, "acknowledge", name=told.acknowledge, text=around.note))
    if told.extra:
        found.append(_extra(bench, told.extra, around))
    if told.timer:
        found.append(_timer(bench, told.timer, around))
    if told.photo is not None:
        found.append(_photo(bench, told.photo, around))
    if told.undo:
        found += _undone(bench, entry_of(bench, around.lot, told.undo), around)
    return tuple(found)


def moved(bench: Bench, told: Told, around: Around) -> tuple[Event, ...]:
    """The two entries of a wafer that changes lots, kept in one transaction; none where nothing moves."""
    if not (told.move_to or told.take_from):
        return ()
    lot, to = (around.lot, told.move_to) if told.move_to else (told.take_from, around.lot)
    return move(
        bench,
        Move(
            lot=lot,
            wafer=around.wafer,
            to=to,
            step=around.step,
            why=around.note,
            who=around.who,
            happened=around.happened,
        ),
    )


def entry_of(bench: Bench, lot: str, beginning: str) -> Event:
    """The entry whose id begins so.

    Raises
    ------
    BadInput
    """
    fitting = [each for each in bench.written(lot) if each.id.startswith(beginning.lower())]
    if len(fitting) == 1 and len(beginning) >= _SHORTEST_ID:
        return fitting[0]
    raise BadInput(
        Problem(
            what="the entry",
            expected="the id of one entry, or at least its first four characters",
            got=f'"{beginning}", which fits {len(fitting)}',
            why="an undo or a correction names what it is about",
            remedy=f"take the id from filmwright log {lot}",
        )
    )


def _pieces(bench: Bench, told: Told, around: Around) -> Iterable[Event]:
    if not told.cleave:
        return
    progress = bench.progress(around.lot)
    piece_of(progress, around.wafer)
    names = [piece.name for piece in progress.pieces]
    for _ in range(told.cleave):
        name = piece_name(around.wafer, names)
        names.append(name)
        yield _event(bench, around, "cleave", name=name, text=around.note, step="")


def _extra(bench: Bench, words: str, around: Around) -> Event:
    from filmwright.flow import steps_from_text

    steps_from_text(words, bench.flow(around.lot), bench.lab_of(around.lot))
    return _event(bench, around, "extra", text=words)


def _timer(bench: Bench, text: str, around: Around) -> Event:
    name, equals, value = (part.strip() for part in text.partition("="))
    try:
        quantity = read(value if equals else name, LOGGED["time"], "the timer")
    except UnitProblem as trouble:
        raise BadInput(trouble.problem) from None
    return _event(
        bench, around, "timer", name=name if equals else "timer", value=quantity.value, unit=quantity.unit
    )


def _photo(bench: Bench, path: Path, around: Around) -> Event:
    from filmwright.desk.bench.photos import keep_photo

    try:
        raw = path.read_bytes()
    except OSError as trouble:
        raise BadInput(
            Problem(
                what="the photo", expected="a readable file", got=trouble.strerror or "no file",
                why="its bytes are kept with the lot", remedy="check the name", file=str(path),
            )
        ) from None  # fmt: skip
    sha256 = keep_photo(bench, raw, path.name)
    return _event(bench, around, "photo", name=path.name, text=around.note, sha256=sha256)


def _undone(bench: Bench, entry: Event, around: Around) -> Iterable[Event]:
    """A withdrawal; that of a move takes back what the other lot was told, too."""
    text = around.note or "taken back"
    yield _event(bench, around, "withdraw", about=entry.id, text=text, wafer=entry.wafer, step=entry.step)
    if entry.kind == "enter" and entry.about:
        yield _event(
            bench, around, "withdraw", about=entry.about, text=text, lot=entry.name, step="", wafer=""
        )
    if entry.kind == "leave":
        for each in bench.events(entry.name) if bench.has(entry.name) else ():
            if each.kind == "enter" and each.about == entry.id:
                yield _event(
                    bench, around, "withdraw", about=each.id, text=text, lot=entry.name, step="", wafer=""
                )


def _event(bench: Bench, around: Around, kind: Any, **more: Any) -> Event:
    return Event(
        **{
            "id": str(uuid.uuid4()), "lot": around.lot, "kind": kind, "wafer": around.wafer,
            "step": around.step, "happened": around.happened or now(), "written": now(), "who": around.who,
            "invented": bench.lot(around.lot).invented, **more,
        }
    )  # fmt: skip


def _one_of(what: str, got: str, known: tuple[str, ...]) -> None:
    if got not in known:
        raise BadInput(
            Problem(
                what=what, expected="one of " + ", ".join(known), got=f'"{got}"',
                why="it says how the wafer goes on", remedy=nearest(got, known),
            )
        )  # fmt: skip
