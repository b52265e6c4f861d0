"""Verbs on a lot: run and log; and the history of a wafer for those that follow."""

from __future__ import annotations

import datetime
import sys
import tempfile
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright import __version__
from filmwright.desk.accepted import accepted_into, with_accepted
from filmwright.desk.answers import LogAnswer, LogLine, LotAnswer
from filmwright.desk.bench.holds import check_entries
from filmwright.desk.bench.lived import run_on
from filmwright.desk.bench.settled import settled
from filmwright.desk.files import Work, load, now, record_place
from filmwright.desk.left_out import VARIANT, check_exclusion, read_splits
from filmwright.desk.logbooks import Books, with_books
from filmwright.desk.uses import books_in
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.flow import (
    LOGGED,
    SPREAD,
    Flow,
    flow_from_text,
    lab_from_text,
    step_of,
)
from filmwright.knowledge import Lab, book, version
from filmwright.masks import Drawing, read_drawing
from filmwright.record import Event, EventKind, Lot, MeasurementFile, Store, digest, lot_name
from filmwright.units import UnitProblem, read

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_MAY_BE_ZERO = {"fraction", "temperature"}
"""Dimensions of which zero or less can be read; overlay is written as its size."""

MARKS: dict[str, EventKind] = {
    "start": "start",
    "finish": "finish",
    "skip": "skip",
    "repeat": "repeat",
    "rework": "rework",
    "hold": "hold",
}
_DRAWING = '{"what": "mask drawing"}'


def run(  # noqa: PLR0913 - one word per thing that can be said of a lot
    plan: Path,
    lab: Path | None = None,
    wafers: int = 1,
    who: str = "",
    note: str = "",
    names: Iterable[str] = (),
    take: Iterable[str] = (),
    at: str = "",
    place: str = "",
    record: str | Path | None = None,
) -> LotAnswer:
    """Start a lot: plan, lab file and drawing are frozen into the record; wafers are new, or come from other lots."""
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.pieces import check_beginning, take_along

    work = load(plan, lab)
    lot = new_lot(work, plan, wafers, (note + (f" Started by {who}." if who else "")).strip(), now(), None)
    own, taken = tuple(names), tuple(take)
    check_beginning(own, taken, at)
    lot = replace(lot, wafers=own) if own else lot
    with Store.open(record_place(record), create=True) as store:
        came: tuple[Event, ...] = ()
        if taken:
            lot, came = take_along(Bench(store), lot, work.flow, taken, at=at, who=who)
        store.start_lot(lot, came)
        keep_drawing(store, lot, plan, work)
        if place:
            scribe = _Scribe(lot=lot, step="", wafer="", happened=lot.started, who=who)
            store.append([scribe.at(place)])
        kept = store.place
    return LotAnswer(lot=lot.name, title=work.flow.title, wafers=lot.wafers, record=kept)


def new_lot(work: Work, plan: Path, wafers: int, note: str, started: str, seed: int | None) -> Lot:
    """The lot of a plan, frozen; ``seed`` None draws a name."""
    drawing = (plan.parent / work.flow.drawing).read_bytes() if work.flow.drawing else b""
    return Lot(
        name=lot_name(seed),
        flow_text=work.flow.text,
        flow_digest=digest(work.flow.text),
        lab_text=work.lab_text,
        lab_digest=digest(work.lab_text) if work.lab_text else "",
        knowledge_version=version(),
        code_version=__version__,
        seed=seed or 0,
        wafers=tuple(f"W{number}" for number in range(1, wafers + 1)),
        started=started,
        drawing_digest=digest(drawing) if drawing else "",
        invented=work.flow.invented,
        note=note,
    )


def keep_drawing(store: Store, lot: Lot, plan: Path, work: Work) -> None:
    """Keep the mask drawing beside the frozen plan, so that the lot can be predicted again years later."""
    if work.flow.drawing:
        raw = (plan.parent / work.flow.drawing).read_bytes()
        name = Path(work.flow.drawing).name
        file = MeasurementFile(
            lot=lot.name,
            name=name,
            sha256=digest(raw),
            kept=lot.started,
            parameters=_DRAWING,
            invented=lot.invented,
        )
        store.keep_file(file, raw)


def frozen(store: Store, name: str) -> tuple[Lot, Work]:
    """A lot with its plan, lab file and drawing as they were when it was started, and what had been accepted by then."""
    lot = sound_lot(store, name)
    return lot, work_of(store, lot)


def work_of(store: Store, lot: Lot, books: Books | None = None) -> Work:
    """What was frozen with a lot, and what had been accepted when it began.

    Parameters
    ----------
    store : Store
    lot : Lot
    books : Books or None
        Logbooks of tools and baths that join the lab file; None takes those of the record up to the day on which the lot began.
    """
    if books is None:
        books = books_in(store).up_to(lot.started[:10])
    lab = lab_from_text(lot.lab_text, "lab.yaml (as frozen)") if lot.lab_text else Lab(name="no lab file")
    flow = flow_from_text(lot.flow_text, f"plan of lot {lot.name} (as frozen)", lab)
    return Work(
        flow=flow,
        lab=with_books(with_accepted(lab, accepted_into(store, before=lot.name)), books),
        lab_text=lot.lab_text,
        drawing=_kept_drawing(store, lot, flow),
        facts=book(),
    )


def sound_lot(store: Store, name: str) -> Lot:
    """A lot whose entries are those that were written; what was changed afterwards is never told as history."""
    lot = store.lot(name)
    check = store.verify(lot.name)
    if not check.sound:
        place = "its plan or lab file" if check.first_bad == 0 else f"entry {check.first_bad}"
        raise BadInput(
            Problem(
                what=f"the record of lot {lot.name}",
                expected="as it was written",
                got=f"{place} changed afterwards ({check.why})",
                why="what follows from it would be told as what really happened",
                remedy="take the record from a copy that was made before",
            )
        )
    return lot


def raw_drawing(store: Store, lot: str) -> tuple[str, bytes] | None:
    """File name and bytes of the mask drawing that was kept with a lot."""
    for file in store.files(lot):
        if file.parameters == _DRAWING:
            return file.name, store.raw(file.sha256)
    return None


def measured_of(store: Store, lot: str) -> tuple[MeasurementFile, ...]:
    """The measured files of a lot, its drawing not among them."""
    return tuple(each for each in store.files(lot) if each.parameters != _DRAWING)


def _kept_drawing(store: Store, lot: Lot, flow: Flow) -> Drawing | None:
    kept = raw_drawing(store, lot.name)
    if kept is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / kept[0]
        path.write_bytes(kept[1])
        return read_drawing(path)


def history(flow: Flow, events: Iterable[Event], wafer: str, lab: Lab | None = None) -> Flow:
    """The flow as it was run on one wafer: corrections, rework, variants and ancestors minded, other lots left aside."""
    return run_on(flow, settled(events), wafer, lab).history


def log(  # noqa: PLR0913 - one word per thing that can be written down
    lot: str,
    step: str = "",
    settings: Iterable[str] = (),
    seen: Iterable[str] = (),
    measured: Iterable[str] = (),
    note: str = "",
    mark: str = "",
    wafer: str = "",
    when: str = "",
    who: str = "",
    curves: Iterable[Path] = (),
    device: str = "",
    exclude: Iterable[str] = (),
    include: Iterable[str] = (),
    split: Iterable[str] = (),
    told: Mapping[str, Any] | None = None,
    typed: str = "",
    preview: bool = False,
    record: str | Path | None = None,
) -> LogAnswer:
    """Write down what was done, or show what is written; ``told`` has the words of ``bench.telling.Told``."""
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.telling import Around, Told, entries_told, entry_of, moved

    judged: dict[EventKind, tuple[str, ...]] = {"exclude": tuple(exclude), "include": tuple(include)}
    words: dict[EventKind, tuple[str, ...]] = {
        "set": tuple(settings),
        "seen": tuple(seen),
        "measured": tuple(measured),
    }
    more, tables, splits = Told(**(told or {})), tuple(curves), tuple(split)
    check_exclusion((*judged["exclude"], *judged["include"]), note, who)
    with Store.open(record_place(record)) as store:
        bench = Bench(store)
        held, flow = store.lot(lot), bench.flow(lot)
        if typed:
            return _typed(bench, held, typed, who, when, preview)
        if not (any(words.values()) or note or mark or tables or splits or more.anything):
            kept = map(_as_entry, measured_of(store, held.name))
            return LogAnswer(lot=held.name, events=_lines((*store.events(held.name), *kept), flow))
        number = step_of(flow, step).number if step else ""
        around = Around(lot=held.name, step=number, wafer=wafer, note=note, who=who, happened=_moment(when))
        gone = moved(bench, more, around)
        scribe = _Scribe(lot=held, step=number, wafer=wafer, happened=around.happened, who=who)
        about = scribe.about(
            judged, read_splits([each for each in splits if ":" not in each], _names(bench, lot)), note
        )
        about += scribe.planned([each for each in splits if ":" in each], _names(bench, lot))
        own = note if mark or not (any(judged.values()) or more.anything) else ""
        events = (*scribe.entries(words, own, mark), *about, *entries_told(bench, more, around))
        check_entries(bench.progress(lot), () if more.correct else events)
        if more.correct:
            events = _corrected(entry_of(bench, held.name, more.correct), events)
        for each in [*judged["exclude"], *judged["include"], *([device] if device and tables else [])]:
            _check_device(each, _kept_drawing(store, held, flow))
        raw = [(path, _bytes(path)) for path in tables]
        if events:
            store.append(events)
        files = _keep_tables(store, held, (wafer, device, who), raw)
    return LogAnswer(lot=held.name, events=_lines((*gone, *events, *map(_as_entry, files)), flow))


def _names(bench: Bench, lot: str) -> tuple[str, ...]:
    return tuple(piece.name for piece in bench.progress(lot).pieces)


def _keep_tables(
    store: Store, lot: Lot, of: tuple[str, str, str], raw: Iterable[tuple[Path, bytes]]
) -> list[MeasurementFile]:
    """Keep measured tables of a wafer and a device."""
    wafer, device, who = of
    files = []
    for path, content in raw:
        file = MeasurementFile(
            lot=lot.name,
            wafer=wafer,
            device=device,
            name=path.name,
            sha256=digest(content),
            kept=now(),
            who=who,
            invented=lot.invented,
        )
        store.keep_file(file, content)
        files.append(file)
    return files


def _corrected(entry: Event, events: tuple[Event, ...]) -> tuple[Event, ...]:
    """The one entry that was written, as a correction of an earlier one of its kind."""
    fitting = [each for each in events if each.kind == entry.kind and each.step in {"", entry.step}]
    if len(events) == 1 and fitting:
        return (replace(events[0], about=entry.id, step=entry.step, wafer=events[0].wafer or entry.wafer),)
    raise BadInput(
        Problem(
            what=f"the correction of {entry.kind} {entry.name}".rstrip(),
            expected=f"one entry of kind {entry.kind} of the same step",
            got=", ".join(f"{each.kind} {each.name}".rstrip() for each in events) or "nothing",
            why="it stands in the place of what it corrects",
            remedy="write the one value again as it should be, or take the old entry back with --undo",
        )
    )


def _typed(bench: Bench, lot: Lot, typed: str, who: str, when: str, preview: bool) -> LogAnswer:
    """Lines copied from paper, from a file or from standard input."""
    from filmwright.desk.bench.typed import Sheet, keep_typed, read_typed

    text = sys.stdin.read() if typed == "-" else _bytes(Path(typed)).decode("utf-8", "replace")
    sheet = Sheet(lot=lot.name, text=text, who=who, day=when[:10])
    lines = read_typed(bench, sheet) if preview else keep_typed(bench, sheet)
    return LogAnswer(
        lot=lot.name,
        events=() if preview else _lines((e for line in lines for e in line.events), bench.flow(lot.name)),
        understood=tuple(f"{line.said}; careful, {line.flag}" if line.flag else line.said for line in lines),
        preview=preview,
    )


def _check_device(device: str, drawing: Drawing | None) -> None:
    """A table of a device that is not drawn would never be compared with anything."""
    names = sorted({label.text.partition(":")[0] for label in drawing.labels}) if drawing is not None else []
    if names and device not in names:
        raise BadInput(
            Problem(
                what="the device of the tables",
                expected="a device that is named on the lot's drawing",
                got=f'"{device}"',
                why="its sizes are read off the drawing, and the prediction belongs to it",
                remedy=nearest(device, names) + "; leave --device out when it is none of them",
            )
        )


def _as_entry(file: MeasurementFile) -> Event:
    """A kept table as a line of the log; it is no entry of its own in the record."""
    of = f"of {file.device}" if file.device else "of no device yet: keep it again with --device to compare it"
    return Event(
        id=str(uuid.uuid5(uuid.NAMESPACE_OID, f"{file.lot} {file.wafer} {file.device} {file.sha256}")),
        lot=file.lot,
        kind="note",
        wafer=file.wafer,
        text=f"kept {file.name} {of}",
        happened=file.kept,
        written=file.kept,
        who=file.who,
        invented=file.invented,
    )


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as trouble:
        raise BadInput(
            Problem(
                what="the table",
                expected="a readable file",
                got=trouble.strerror or "no file",
                why="its bytes are kept with the lot",
                remedy="check the name",
                file=str(path),
            )
        ) from None


def _lines(events: Iterable[Event], flow: Flow) -> tuple[LogLine, ...]:
    titles = {step.number: step.title for step in flow.steps}
    return tuple(LogLine(event=event, title=titles.get(event.step, "")) for event in events)


def _moment(when: str) -> str:
    if not when:
        return now()
    try:
        moment = datetime.datetime.fromisoformat(when)
    except ValueError:
        raise BadInput(
            Problem(
                what="when it happened",
                expected="an ISO time like 2026-03-31T14:05",
                got=f'"{when}"',
                why="waits are counted from it",
                remedy="write date, T and time, or leave it out for now",
            )
        ) from None
    return (moment if moment.tzinfo else moment.astimezone()).isoformat(timespec="seconds")


class _Scribe:
    """Turns words into entries; all problems at once."""

    def __init__(self, *, lot: Lot, step: str, wafer: str, happened: str, who: str) -> None:
        self.lot, self.step, self.wafer, self.happened, self.who = lot, step, wafer, happened, who
        self.problems = Problems()

    def entries(self, words: dict[EventKind, tuple[str, ...]], note: str, mark: str) -> tuple[Event, ...]:
        """All entries of one call."""
        found = [
            event for kind, texts in words.items() for text in texts for event in self._valued(kind, text)
        ]
        if mark and mark not in MARKS:
            self.problems.add(
                Problem(
                    what="the mark",
                    expected="one of " + ", ".join(MARKS),
                    got=f'"{mark}"',
                    why="it says what happened to the step",
                    remedy=nearest(mark, MARKS),
                )
            )
        elif mark:
            found.append(self._event(MARKS[mark], text=note))
        elif note:
            found.append(self._event("note", text=note))
        if (found or mark) and not self.step and any(event.kind != "note" for event in found):
            self.problems.add(
                Problem(
                    what="the step",
                    expected="named",
                    got="nothing",
                    why="a value belongs to a step",
                    remedy='name it by its code, like "03C"',
                )
            )
        self.problems.raise_any()
        return tuple(found)

    def about(
        self, judged: dict[EventKind, tuple[str, ...]], parted: dict[str, str], note: str
    ) -> tuple[Event, ...]:
        """Entries of no step: devices that are left out or taken back, and the variants of wafers."""
        found = [
            self._event(kind, name=device, text=note, step="")
            for kind, devices in judged.items()
            for device in devices
        ]
        found += [
            self._event("split", name=VARIANT, text=variant, step="", wafer=wafer)
            for wafer, variant in parted.items()
        ]
        return tuple(found)

    def at(self, place: str) -> Event:
        """Where the wafers are."""
        return self._event("place", name="location", text=place)

    def planned(self, texts: Iterable[str], known: tuple[str, ...]) -> tuple[Event, ...]:
        """What a variant means at the step: ``thin=W1,W2: thickness=50 nm``."""
        found: list[Event] = []
        for text in texts:
            parted, _, words = text.partition(":")
            for wafer, variant in read_splits([parted], known).items():
                for setting in words.split(","):
                    found += [
                        replace(each, kind="split", wafer=wafer, text=variant)
                        for each in self._valued("set", setting.strip())
                    ]
        if found and not self.step:
            self.problems.add(
                Problem(
                    what="the step of a split",
                    expected="named",
                    got="nothing",
                    why="a planned value belongs to one step",
                    remedy='name it by its code, like "03C"',
                )
            )
        self.problems.raise_any()
        return tuple(found)

    def _valued(self, kind: EventKind, text: str) -> list[Event]:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or name not in LOGGED:
            remedy = nearest(name, LOGGED) if equals else 'write it like "time=41 s"'
            self.problems.add(
                Problem(
                    what=f'the entry "{text}"',
                    expected='"name=value unit" with a known name',
                    got=f'"{name}"',
                    why="a number without a name is lost; free words go to --note",
                    remedy=remedy,
                )
            )
            return []
        try:
            quantity = read(value, LOGGED[name], name)
        except UnitProblem as trouble:
            self.problems.add(trouble.problem)
            return []
        if quantity.value <= 0 and LOGGED[name] not in _MAY_BE_ZERO:
            self.problems.add(
                Problem(
                    what=name,
                    expected="more than zero",
                    got=f'"{value}"',
                    why="the record is append-only and the wafer is walked from it",
                    remedy="write what was really set or read; a step that was not done is marked with --mark skip",
                )
            )
            return []
        found = [self._event(kind, name=name, value=quantity.value, unit=quantity.unit)]
        if quantity.spread is not None:
            # A spread is a difference, so a temperature's is kept in kelvin.
            unit = "K" if LOGGED[name] == "temperature" else quantity.unit
            found.append(self._event(kind, name=name + SPREAD, value=quantity.spread, unit=unit))
        return found

    def _event(
        self,
        kind: EventKind,
        name: str = "",
        value: float | None = None,
        unit: str = "",
        text: str = "",
        step: str | None = None,
        wafer: str = "",
    ) -> Event:
        return Event(
            id=str(uuid.uuid4()),
            lot=self.lot.name,
            kind=kind,
            wafer=wafer or self.wafer,
            step=self.step if step is None else step,
            name=name,
            value=value,
            unit=unit,
            text=text,
            happened=self.happened,
            written=now(),
            who=self.who,
            invented=self.lot.invented,
        )
