"""The page of a wafer: every entry that tells of it, what was measured, where it comes from, and how it is now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal

from filmwright.desk.bench.entries import words_of
from filmwright.desk.bench.lived import entries_of, line_of, wafer_named
from filmwright.flow import SPREAD
from filmwright.record import label_of
from filmwright.units import convert

if TYPE_CHECKING:
    from filmwright.desk.bench.as_run import AsRunWafer, Moment
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.progress import Piece
    from filmwright.record import Event

Holds = Literal["holds", "corrected", "taken back", "takes back"]
"""Of an entry: whether it counts, and why not."""

_FILMS = frozenset({"measured", "split", "cleave", "enter", "leave"})
"""What tells of measured films, and of which wafer an entry tells."""
_READ = frozenset({"measured", "seen"})


@dataclass(frozen=True, kw_only=True)
class HistoryLine:
    """One entry of the history of a wafer; one that no longer counts stays, and says so.

    Attributes
    ----------
    id, happened, written, who : str
    code, title : str
        Of the step; empty for the lot as a whole.
    words : str
    holds : Holds
    corrects : str
        What the entry said that this one corrects or takes back; empty for others.
    of : str
        The ancestor of which the entry was made; empty for the wafer itself.
    sha256 : str
        Of a kept photo; else empty.
    """

    id: str
    happened: str
    written: str
    who: str
    words: str
    code: str = ""
    title: str = ""
    holds: Holds = "holds"
    corrects: str = ""
    of: str = ""
    sha256: str = ""


@dataclass(frozen=True, kw_only=True)
class WaferFile:
    """A table of measurements that is kept for a wafer."""

    sha256: str
    name: str
    device: str
    kept: str


@dataclass(frozen=True, kw_only=True)
class FilmMeasured:
    """A film whose thickness was measured, beside what was planned.

    Attributes
    ----------
    code, title : str
        Of the step that put it down.
    planned, tolerance : float or None [nm]
    measured : float [nm]
    std : float or None [nm]
        One standard deviation, where it was written down.
    """

    code: str
    title: str
    planned: float | None
    tolerance: float | None
    measured: float
    std: float | None

    @property
    def off(self) -> float | None:
        """Measured less planned, as a share of what was planned."""
        return self.measured / self.planned - 1 if self.planned else None

    @property
    def within(self) -> bool | None:
        """Whether it lies within the tolerance; None where none was planned."""
        if not self.planned or self.tolerance is None:
            return None
        return abs(self.measured - self.planned) <= self.tolerance


@dataclass(frozen=True, kw_only=True)
class WaferPage:
    """Everything that the page of a wafer shows.

    Attributes
    ----------
    lot : str
    piece : Piece
        Where it is, what it was cut from, what was cut from it.
    lines : tuple of HistoryLine
        The newest first; as many as were asked for.
    older : int
        Lines beyond those.
    readings, photos : tuple of HistoryLine
        Of those that hold, in the order in which they happened.
    files : tuple of WaferFile
    films : tuple of FilmMeasured
    wafer : AsRunWafer or None
        As it is, as far as that is known now.
    place : int
        The moment that is shown.
    working : bool
        Whether something newer is being worked out.
    trouble : str
        Why it cannot be worked out; empty otherwise.
    """

    lot: str
    piece: Piece
    lines: tuple[HistoryLine, ...]
    older: int = 0
    readings: tuple[HistoryLine, ...] = ()
    photos: tuple[HistoryLine, ...] = ()
    files: tuple[WaferFile, ...] = ()
    films: tuple[FilmMeasured, ...] = ()
    wafer: AsRunWafer | None = None
    place: int = 0
    working: bool = False
    trouble: str = ""

    @property
    def label(self) -> str:
        """The name with its check character, as on the carrier: ``W1-F``."""
        return label_of(self.lot, self.piece.name).removeprefix(f"{self.lot} ")

    @property
    def moment(self) -> Moment | None:
        """The moment that is shown."""
        return self.wafer.moments[self.place] if self.wafer is not None else None

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "wafer": self.piece.name,
            "ancestry": list(self.piece.ancestry),
            "pieces": list(self.piece.children),
            "lines": [asdict(each) for each in self.lines],
            "files": [asdict(each) for each in self.files],
            "films": [{**asdict(each), "unit": "nm"} for each in self.films],
            "as_run": self.wafer.fields() if self.wafer is not None else None,
            "working": self.working,
            "trouble": self.trouble,
        }


def wafer_page(
    bench: Bench, lot: str, wafer: str, at: int | None = None, newest: int | None = None
) -> WaferPage:
    """The page of a wafer or a piece; never waits for the emulation.

    Parameters
    ----------
    bench : Bench
    lot, wafer : str
    at : int or None
        The moment that is shown, counted from 0 as bought; None: now.
    newest : int or None
        How many lines of its history are told; None: all of them.

    Raises
    ------
    BadInput
        When there is no such lot or wafer.
    """
    name = wafer_named(bench, lot, wafer)
    progress = bench.progress(lot)
    piece = next(each for each in progress.pieces if each.name == name)
    own = entries_of(bench.written(lot), name)
    told = own if newest is None else own[max(len(own) - newest, 0) :]
    known = bench.emulation.known("as_run", lot, name) if bench.emulation is not None else None
    found: Any = known.answer if known is not None else None
    last = len(found.moments) - 1 if found is not None else 0
    kinds = {each.id: each.kind for each in bench.events(lot)}
    read = [each for each in own if kinds.get(each.id) in _READ]
    photos = [each for each in own if kinds.get(each.id) == "photo" and each.kind == "photo" and each.sha256]
    # A long history is told as far as it is shown: its words take longer than all the rest.
    lines = _lines(bench, lot, name, {each.id: each for each in (*told, *read, *photos)}.values())
    return WaferPage(
        lot=lot,
        piece=piece,
        lines=tuple(lines[each.id] for each in reversed(told)),
        older=len(own) - len(told),
        readings=tuple(lines[each.id] for each in read),
        photos=tuple(lines[each.id] for each in photos),
        files=tuple(
            WaferFile(sha256=each.sha256, name=each.name, device=each.device, kept=each.kept)
            for each in bench.store.files(lot)
            if each.wafer == name
        ),
        films=_films(bench, lot, name),
        wafer=found,
        place=last if at is None else min(max(at, 0), last),
        working=known.working if known is not None else False,
        trouble=known.trouble if known is not None else "",
    )


def _films(bench: Bench, lot: str, wafer: str) -> tuple[FilmMeasured, ...]:
    """The measured films in the order of their steps, the last reading of each."""
    events = entries_of([each for each in bench.events(lot) if each.kind in _FILMS], wafer)
    last = {(each.step, each.name): each for each in events if each.kind == "measured"}
    otherwise = {
        each.step: each.value
        for each in events
        if each.kind == "split" and each.name == "thickness" and each.value is not None
    }
    found = []
    for step in bench.flow(lot).steps:
        reading = last.get((step.number, "thickness"))
        if reading is None or reading.value is None:
            continue
        asked, std = step.asked.get("thickness"), last.get((step.number, "thickness" + SPREAD))
        planned = otherwise.get(step.number, asked.value if asked is not None else None)
        spread = asked.spread if asked is not None else None
        found.append(
            FilmMeasured(
                code=step.code,
                title=step.title,
                planned=convert(planned, "nm") if planned is not None else None,
                tolerance=convert(spread, "nm") if spread is not None else None,
                measured=convert(reading.value, "nm"),
                std=convert(std.value, "nm") if std is not None and std.value is not None else None,
            )
        )
    return tuple(found)


def _lines(bench: Bench, lot: str, wafer: str, own: Iterable[Event]) -> dict[str, HistoryLine]:
    """Entries that tell of a wafer, in words, by their ids."""
    written = bench.written(lot)
    by_id = {each.id: each for each in written}
    holding = {each.id for each in bench.events(lot)}
    steps = {step.number: step for step in bench.flow(lot).steps}
    corrected = {
        each.about
        for each in written
        if each.about and each.kind != "withdraw" and by_id.get(each.about, each).kind == each.kind
    }
    ancestors = set(line_of(bench.events(lot), wafer).names) - {wafer}
    found = {}
    for event in own:
        step = steps.get(event.step)
        found[event.id] = HistoryLine(
            id=event.id,
            happened=event.happened,
            written=event.written,
            who=event.who,
            words=words_of(event),
            code=step.code if step is not None else event.step,
            title=step.title if step is not None else "",
            holds=_holds(event, holding, corrected),
            corrects=_corrects(event, by_id),
            of=event.wafer if event.wafer in ancestors else "",
            sha256=event.sha256 if event.kind == "photo" else "",
        )
    return found


def _holds(event: Event, holding: set[str], corrected: set[str]) -> Holds:
    if event.kind == "withdraw":
        return "takes back"
    if event.id in holding:
        return "holds"
    return "corrected" if event.id in corrected else "taken back"


def _corrects(event: Event, by_id: Mapping[str, Event]) -> str:
    about = by_id.get(event.about)
    if about is None or (event.kind != "withdraw" and about.kind != event.kind):
        return ""
    return words_of(about)
