"""Measured files on their way into a lot: laid on a tray, read, corrected, and kept only when a person says so."""

from __future__ import annotations

import json
import re
import tempfile
import threading
import time
import uuid
from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.uploads import Upload, read_table
from filmwright.desk.files import now
from filmwright.desk.identity import order_of_probing
from filmwright.desk.left_out import check_exclusion, left_out
from filmwright.desk.lots import log, measured_of
from filmwright.desk.table_reading import TableReading, explanations, rules_for, tables
from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.record import MeasurementFile, digest
from filmwright.units import show

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.measure import Geometry, Sweep

MOST_FILES = 200
"""Files of one tray."""
_MOST_TRAYS, _MOST_BYTES, _LONGEST = 24, 256 * 1024 * 1024, 3600.0
_MOST_CORRECTIONS = 20


@dataclass(frozen=True, kw_only=True)
class Tray:
    """Files that were sent and are not kept yet; they go when nobody asks for them for an hour.

    Attributes
    ----------
    id, lot : str
    files : tuple of Upload
    refused : tuple of str
        What was sent and is no table, with the reason.
    read_as : mapping from SHA-256 to tuple of str
        Corrections of the reading, such as ``I2 = gate current, nA``.
    again : bool
        Whether they are kept already and are to be read another way.
    """

    id: str
    lot: str
    files: tuple[Upload, ...] = ()
    refused: tuple[str, ...] = ()
    read_as: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    again: bool = False

    @property
    def size(self) -> int:
        """Bytes of its files."""
        return sum(len(each.raw) for each in self.files)


class Trays:
    """The trays of a server, in memory: nothing of them is written anywhere."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[str, tuple[float, Tray]] = OrderedDict()

    def begin(self, lot: str, *, again: bool = False) -> Tray:
        """A new tray; ``again`` for a file that is kept already."""
        return self._put(Tray(id=str(uuid.uuid4()), lot=lot, again=again))

    def get(self, lot: str, name: str) -> Tray:
        """A tray of a lot.

        Raises
        ------
        BadInput
            When it is no longer there.
        """
        with self._lock:
            self._sweep()
            found = self._held.get(name)
            if found is None or found[1].lot != lot:
                raise _refusal(
                    "the files that were sent", "still there", "no longer held", "what is not kept is held for an hour only",
                    "send them again",
                )  # fmt: skip
            return found[1]

    def add(self, tray: Tray, files: Sequence[tuple[str, bytes]]) -> Tray:
        """Lay files on a tray; one that is no table is named with the reason, the same bytes lie there once."""
        held = {digest(each.raw): each for each in tray.files}
        refused = list(tray.refused)
        for name, raw in files:
            try:
                found = read_table(name, raw)
            except BadInput as bad:
                refused.append(str(bad.problems[0]))
                continue
            if len(held) >= MOST_FILES:
                refused.append(f"{found.name}: a tray holds {MOST_FILES} files; keep these first")
                continue
            held.setdefault(digest(raw), found)
        return self._put(replace(tray, files=tuple(held.values()), refused=tuple(dict.fromkeys(refused))))

    def correct(self, tray: Tray, read_as: Mapping[str, tuple[str, ...]]) -> Tray:
        """The tray with corrections of how its files are read."""
        return self._put(replace(tray, read_as=read_as))

    def drop(self, tray: Tray) -> None:
        """Take a tray away."""
        with self._lock:
            self._held.pop(tray.id, None)

    def _put(self, tray: Tray) -> Tray:
        with self._lock:
            self._held[tray.id] = (time.monotonic(), tray)
            self._held.move_to_end(tray.id)
            self._sweep()
        return tray

    def _sweep(self) -> None:
        old = time.monotonic() - _LONGEST
        for name in [name for name, (when, _) in self._held.items() if when < old]:
            del self._held[name]
        while len(self._held) > 1 and (
            len(self._held) > _MOST_TRAYS or sum(each.size for _, each in self._held.values()) > _MOST_BYTES
        ):
            self._held.popitem(last=False)


@dataclass(frozen=True, kw_only=True)
class Understood:
    """What was understood of one file.

    Attributes
    ----------
    sha256, name : str
    size : int
        Bytes.
    lines : tuple of (topic, text)
    problems : tuple of str
        Why it cannot be read as it is.
    curves : int
    device, wafer : str
        As the file or its name says; empty where neither does.
    sizes : str
        W and L of the device, and where they are known from.
    read_as : tuple of str
    kept : str
        Where and when the same bytes were kept in this lot before; empty where they were not.
    """

    sha256: str
    name: str
    size: int
    lines: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()
    curves: int = 0
    device: str = ""
    wafer: str = ""
    sizes: str = ""
    read_as: tuple[str, ...] = ()
    kept: str = ""

    def fields(self) -> dict[str, Any]:
        """For programs."""
        from dataclasses import asdict

        return asdict(self)


@contextmanager
def on_disk(tray: Tray) -> Iterator[dict[str, Path]]:
    """The files of a tray as files, for as long as they are read: digest → path, each in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="filmwright-tray-") as folder:
        found = {}
        for k, each in enumerate(tray.files):
            place = Path(folder) / f"{k:04d}"
            place.mkdir()
            found[digest(each.raw)] = place / each.name
            found[digest(each.raw)].write_bytes(each.raw)
        yield found


def understood(
    bench: Bench,
    tray: Tray,
    sizes: Mapping[str, Geometry] | None = None,
    chosen: Mapping[str, Keeping] | None = None,
) -> tuple[tuple[Understood, ...], tuple[str, ...]]:
    """What was understood of every file of a tray, with the device and the wafer that it may belong to, and what was noticed of all.

    Parameters
    ----------
    bench : Bench
    tray : Tray
    sizes : mapping from device to Geometry, or None
        W and L from the drawing, as far as they are known by now.
    chosen : mapping from SHA-256 to Keeping, or None
        Device and wafer as a person chose them on the page.
    """
    names = devices_of(bench, tray.lot)
    wafers = bench.lot(tray.lot).wafers
    kept = {each.sha256: each for each in measured_of(bench.store, tray.lot)}
    with on_disk(tray) as paths:
        found = tuple(
            _one(each, paths[digest(each.raw)], tray, (names, wafers), kept.get(digest(each.raw)))
            for each in tray.files
        )
        named = tuple(_chosen(each, (chosen or {}).get(each.sha256), sizes or {}) for each in found)
        return named, _shifted(named, paths, sizes or {})


def _chosen(found: Understood, chosen: Keeping | None, sizes: Mapping[str, Geometry]) -> Understood:
    device = chosen.device if chosen is not None else found.device
    return replace(
        found,
        device=device,
        wafer=chosen.wafer if chosen is not None else found.wafer,
        sizes=_sizes(sizes.get(device)),
    )


def _sizes(known: Geometry | None) -> str:
    """W and L of a device, in words."""
    if known is None or not known.width or not known.length:
        return ""
    return f"W {show(known.width, 'length')}, L {show(known.length, 'length')}, from the drawing as planned"


def _shifted(
    found: Sequence[Understood], paths: Mapping[str, Path], sizes: Mapping[str, Geometry]
) -> tuple[str, ...]:
    """What sizes and currents say of the order of probing: a row that is shifted is told before anything is kept."""
    sweeps: list[Sweep] = []
    for each in found:
        if each.device not in sizes or each.problems:
            continue
        asked = TableReading(read_as=each.read_as)
        measured, _ = tables(asked, [paths[each.sha256]], rules_for(asked, [paths[each.sha256]])[0])
        sweeps.extend(
            replace(sweep, device=each.device, wafer=each.wafer) for one in measured for sweep in one.sweeps
        )
    return order_of_probing(sweeps, [sizes[sweep.device] for sweep in sweeps]) if sweeps else ()


def _one(
    file: Upload,
    path: Path,
    tray: Tray,
    known: tuple[tuple[str, ...], tuple[str, ...]],
    kept: MeasurementFile | None,
) -> Understood:
    sha256 = digest(file.raw)
    read_as = tuple(tray.read_as.get(sha256, ()))
    lines: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()
    try:
        asked = TableReading(read_as=read_as)
        told, refused = explanations([path], rules_for(asked, [path])[0])
        lines = tuple((each["topic"], _plain(each["text"], path)) for one in told for each in one["lines"])
        problems = tuple(_plain(str(each), path) for each in refused)
    except BadInput as bad:
        problems = tuple(_plain(str(each), path) for each in bad.problems)
    problems += tuple(text for topic, text in lines if topic == "refused")
    said = " ".join(
        text for topic, text in lines if topic.startswith(("transfer", "output", "block", "column"))
    )
    return Understood(
        sha256=sha256,
        name=file.name,
        size=len(file.raw),
        lines=tuple(each for each in lines if each[0] not in ("refused", "raw file")),
        problems=problems,
        curves=sum(topic.endswith("curve") for topic, _ in lines),
        device=_guessed(known[0], file.name, said),
        wafer=_guessed(known[1], file.name, said) or (known[1][0] if len(known[1]) == 1 else ""),
        read_as=read_as,
        kept=f"{kept.device or 'no device'}, {kept.kept[:10]}" if kept is not None else "",
    )


def _plain(text: str, path: Path) -> str:
    """Words without the place at which the file lay while it was read."""
    return text.replace(str(path), path.name).replace(str(path.parent), "")


def _guessed(names: Sequence[str], *texts: str) -> str:
    """The one name that stands in the first text in which one does."""
    for text in texts:
        found = [
            each for each in names if re.search(rf"(?<![A-Za-z0-9]){re.escape(each)}(?![A-Za-z0-9])", text)
        ]
        if len(found) == 1:
            return found[0]
    return ""


def devices_of(bench: Bench, lot: str) -> tuple[str, ...]:
    """Names of the devices on the drawing of a lot."""
    drawing = bench.work(lot).drawing
    labels = drawing.labels if drawing is not None else ()
    return tuple(sorted({label.text.partition(":")[0] for label in labels}))


def corrections(text: str) -> tuple[str, ...]:
    """Corrections as they are typed, one on each line."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())[:_MOST_CORRECTIONS]


@dataclass(frozen=True, kw_only=True)
class Keeping:
    """What a person confirmed of one file: which device on which wafer."""

    sha256: str
    device: str = ""
    wafer: str = ""


def keep(bench: Bench, tray: Tray, wanted: Sequence[Keeping], *, who: str) -> tuple[MeasurementFile, ...]:
    """Keep the files that a person confirmed, raw, each with its SHA-256; all problems at once, and then nothing is kept.

    Parameters
    ----------
    bench : Bench
    tray : Tray
    wanted : sequence of Keeping
    who : str
    """
    held = {digest(each.raw): each for each in tray.files}
    lot, names, problems = bench.lot(tray.lot), devices_of(bench, tray.lot), Problems()
    if not wanted:
        problems.add(
            _refusal(
                "what is kept", "at least one file", "none", "nothing was ticked", "tick a file"
            ).problems[0]
        )
    for each in wanted:
        if each.sha256 not in held:
            problems.found.extend(
                _refusal(
                    "the file", "one that was sent", each.sha256[:12], "it is no longer held", "send it again"
                ).problems
            )
        elif each.device and names and each.device not in names:
            problems.found.extend(
                _refusal(
                    f"the device of {held[each.sha256].name}", "one on the lot's drawing", f'"{each.device}"',
                    "its sizes are read off the drawing", nearest(each.device, names),
                ).problems
            )  # fmt: skip
        elif each.wafer and each.wafer not in lot.wafers:
            problems.found.extend(
                _refusal(
                    f"the wafer of {held[each.sha256].name}", "a wafer of the lot", f'"{each.wafer}"',
                    "splits are compared by wafer", nearest(each.wafer, lot.wafers),
                ).problems
            )  # fmt: skip
    problems.raise_any()
    kept = []
    for each in wanted:
        upload = held[each.sha256]
        read_as = tray.read_as.get(each.sha256, ())
        file = MeasurementFile(
            lot=lot.name, wafer=each.wafer, device=each.device, name=upload.name, sha256=each.sha256, kept=now(),
            parameters=json.dumps({"read as": list(read_as)}) if read_as else "{}",
            who=who, invented=lot.invented,
        )  # fmt: skip
        bench.store.keep_file(file, upload.raw)
        kept.append(file)
    return tuple(kept)


def keep_one(
    bench: Bench, lot: str, file: tuple[str, bytes], *, device: str = "", wafer: str = "", who: str
) -> tuple[MeasurementFile, bool]:
    """Keep one file that a program measured, as it stands; the same again for the same device and wafer is no change.

    Parameters
    ----------
    bench : Bench
    lot : str
    file : tuple of (name, bytes)
    device, wafer : str
    who : str

    Returns
    -------
    kept : MeasurementFile
    new : bool

    Raises
    ------
    BadInput
        When it is no table, or device or wafer are none of the lot's.
    """
    upload, held = read_table(*file), bench.lot(lot)
    for each in bench.store.files(held.name):
        if (each.sha256, each.device, each.wafer) == (digest(upload.raw), device, wafer):
            return each, False
    tray = Tray(id="", lot=held.name, files=(upload,))
    (kept,) = keep(bench, tray, [Keeping(sha256=digest(upload.raw), device=device, wafer=wafer)], who=who)
    return kept, True


def _refusal(what: str, expected: str, got: str, why: str, remedy: str) -> BadInput:
    return BadInput(Problem(what=what, expected=expected, got=got, why=why, remedy=remedy))


def leave_out(
    bench: Bench, lot: str, device: str, wafer: str, *, why: str, who: str, back: bool = False
) -> None:
    """Leave a device out of the statistics of a lot, or take it back; a reason and a name stand beside it for ever."""
    check_exclusion((device,), why, who)
    log(
        lot,
        note=why,
        who=who,
        wafer=wafer,
        exclude=() if back else (device,),
        include=(device,) if back else (),
        record=bench.place,
    )


def excluded(bench: Bench, lot: str) -> dict[tuple[str, str], str]:
    """The devices that are left out of a lot's statistics, each with its reason."""
    return left_out(bench.events(lot), bench.lot(lot).wafers)


def kept_files(bench: Bench, lot: str) -> tuple[MeasurementFile, ...]:
    """The measured files that are kept with a lot."""
    return measured_of(bench.store, lot)


@dataclass(frozen=True, kw_only=True)
class Unreadable:
    """A kept file that tells nothing yet.

    Attributes
    ----------
    sha256, name, wafer, device : str
    why : str
        With what to do.
    """

    sha256: str
    name: str
    wafer: str
    device: str
    why: str


def unreadable(files: Sequence[MeasurementFile], unread: Sequence[tuple[str, str]]) -> tuple[Unreadable, ...]:
    """The kept files that tell nothing as they are, each with the reason and what to do.

    Parameters
    ----------
    files : sequence of MeasurementFile
    unread : sequence of (name, why)
        What was found when they were read.
    """
    why = dict(unread)
    silent = "the file names no device, so no sizes are known; say which device it is"
    return tuple(
        Unreadable(
            sha256=each.sha256,
            name=each.name,
            wafer=each.wafer,
            device=each.device,
            why=why.get(each.name, "") if each.device else silent,
        )
        for each in files
        if not each.device or each.name in why
    )


def kept_named(bench: Bench, lot: str, sha256: str) -> MeasurementFile:
    """A measured file of a lot by its SHA-256.

    Raises
    ------
    BadInput
        When the lot keeps no such file.
    """
    for each in measured_of(bench.store, lot):
        if each.sha256 == sha256:
            return each
    raise _refusal(
        "the measured file", f"one that lot {lot} keeps", sha256[:12], "other lots keep their own",
        "choose it on the page of measurements",
    )  # fmt: skip


def laid_again(bench: Bench, trays: Trays, lot: str, sha256: str) -> Tray:
    """A tray with a kept file, read as it was corrected last; keeping it again adds a further entry and changes none."""
    file = kept_named(bench, lot, sha256)
    tray = trays.add(trays.begin(lot, again=True), [(file.name, bench.store.raw(sha256))])
    read_as = tuple(json.loads(file.parameters).get("read as", ()))
    return trays.correct(tray, {sha256: read_as}) if read_as else tray
