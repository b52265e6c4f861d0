"""The verb that hands a lot over as one bundle of open files."""

from __future__ import annotations

import io
import json
import mimetypes
import re
import tempfile
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath

from filmwright import __version__
from filmwright.desk.answers import FilesAnswer
from filmwright.desk.bundle_form import (
    MANIFEST,
    RECORD_JSON,
    Held,
    manifest,
    refusal,
    written,
)
from filmwright.desk.files import now, record_place, write
from filmwright.desk.keeping import Tell, quiet
from filmwright.desk.reporting import report as write_report
from filmwright.errors import BadInput, OutOfReach, Problem
from filmwright.flow import flow_from_text, lab_from_text
from filmwright.knowledge import Lab
from filmwright.outputs import (
    BundleEntry,
    BundleFile,
    BundleLot,
    BundlePage,
    Crate,
    CrateFile,
    bundle_html,
    crate_json,
    csv_text,
)
from filmwright.record import Store, digest
from filmwright.units import write as show

_MEDIA = {
    ".yaml": "application/yaml",
    ".oas": "application/vnd.oasis.layout",
    ".gds": "application/octet-stream",
}
_PLAIN = re.compile(r"[^A-Za-z0-9._+-]+")


def record_export(
    lot: str,
    record: str | Path | None = None,
    into: Path | None = None,
    report: bool = True,
    tell: Tell = quiet,
) -> FilesAnswer:
    """Hand a lot over: a page, tables, JSON, the raw files, their hashes and an RO-Crate, in one folder or one .zip.

    Parameters
    ----------
    lot : str
    record : path, address or None
    into : Path or None
        A folder that is not there yet, or a name that ends in ``.zip``; None for ``hand-over-LOT.zip``.
    report : bool
        Whether the report of the lot goes along; it takes a while to make.
    tell : callable
        Told how far it is: done, of how many, with what.
    """
    place = record_place(record)
    with Store.open(place) as store:
        lots = _with_ancestors(store, lot)
        wanted = sorted({sha256 for held in lots for sha256 in held.kept()})
        raw = {}
        for at, sha256 in enumerate(wanted):
            tell(at, len(wanted), "reading kept files")
            raw[sha256] = store.raw(sha256)
    tell(len(wanted), len(wanted), "writing the bundle")
    made, left = _report(lots[0].lot.name, place) if report and lots[0].events else (b"", "")
    content = _content(lots, raw, made)
    target = into or Path(f"hand-over-{lots[0].lot.name}.zip")
    paths = _zipped(target, content) if target.suffix == ".zip" else _unpacked(target, content)
    said = (
        f"lot {lots[0].lot.name}: {len(lots[0].events)} entries, {len(raw)} kept files",
        "readable without the program: open index.html",
        *([left] if left else []),
    )
    return FilesAnswer(
        written=paths, open=target if target.suffix == ".zip" else target / "index.html", said=said
    )


def _with_ancestors(store: Store, name: str) -> tuple[Held, ...]:
    """The lot, then the lots that its wafers came from."""
    found: dict[str, Held] = {}
    waiting = [name]
    while waiting:
        each = waiting.pop(0)
        if each in found:
            continue
        lot = store.lot(each)
        check = store.verify(lot.name)
        if not check.sound:
            raise refusal(
                f"the record of lot {lot.name}", "as it was written", check.why,
                "run filmwright record verify, and take the record from a copy that was made before", "",
            )  # fmt: skip
        events = store.events(lot.name)
        found[lot.name] = Held(
            lot=lot,
            head=check.head,
            events=events,
            accepted=store.accepted(lot.name),
            files=store.files(lot.name, every=True),
        )
        waiting += [event.name for event in events if event.kind == "enter"]
    return tuple(found.values())


def _report(lot: str, record: str | Path) -> tuple[bytes, str]:
    """The report, or why there is none: what was written is handed over also where its plan no longer reads."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "report.html"
        try:
            write_report(lot, record=record, into=path)
        except OutOfReach:
            raise
        except BadInput as bad:
            first = bad.problems[0]
            return b"", f"without a report: {first.what}: {first.got}; expected {first.expected}"
        return path.read_bytes(), ""


def _content(lots: Sequence[Held], raw: Mapping[str, bytes], report: bytes) -> dict[str, bytes]:
    """Every file of the bundle by its path."""
    held = lots[0]
    made: dict[str, bytes] = {}
    names = {sha256: name for each in lots for sha256, name in each.kept().items()}
    for each in lots:
        beside = f"{each.lot.name}-"
        made[f"{beside}flow.yaml"] = each.lot.flow_text.encode()
        if each.lot.lab_text:
            made[f"{beside}lab.yaml"] = each.lot.lab_text.encode()
    made["entries.csv"] = _entries_table(lots).encode("utf-8-sig")
    made["files.csv"] = _files_table(lots).encode("utf-8-sig")
    made["calibrations.csv"] = _calibrations_table(lots).encode("utf-8-sig")
    made[RECORD_JSON] = (json.dumps(written(lots, __version__), indent=1, ensure_ascii=False) + "\n").encode()
    for sha256, content in raw.items():
        made[kept_path(sha256, names[sha256])] = content
    if report:
        made["report.html"] = report
    told = {kept_path(sha256, name): f"kept with the lot: {name}" for sha256, name in names.items()}
    told |= _OWN
    files = [
        BundleFile(path=path, name=PurePosixPath(path).name, what=_what(path, told), sha256=digest(content))
        for path, content in made.items()
    ]
    when = now()
    page = BundlePage(
        made=when[:16].replace("T", " "),
        version=__version__,
        lots=[_told(each) for each in lots],
        files=files,
        report="report.html" if report else "",
        invented=held.lot.invented,
    )
    made["index.html"] = bundle_html(page).encode()
    made["ro-crate-metadata.json"] = crate_json(_crate(held, made, when)).encode()
    made[MANIFEST] = manifest({path: digest(content) for path, content in made.items()}).encode()
    return made


_OWN = {
    "entries.csv": "every entry: when, who, which wafer and step, what",
    "files.csv": "the kept files: which device, which wafer",
    "calibrations.csv": "what was accepted from the lot for the lab",
    RECORD_JSON: "the same for programs, and to take it into another record",
    "report.html": "the report of the lot",
}


def _what(path: str, told: Mapping[str, str]) -> str:
    if path in told:
        return told[path]
    return "the lab file as it was frozen" if path.endswith("-lab.yaml") else "the flow as it was frozen"


def kept_path(sha256: str, name: str) -> str:
    """Where a kept file lies in a bundle: its hash parts files of one name, its name is for people."""
    plain = _PLAIN.sub("-", name).strip(".-") or "file"
    return f"files/{sha256[:12]}-{plain[-80:]}"


def _crate(held: Held, made: Mapping[str, bytes], when: str) -> Crate:
    times = sorted(event.happened for event in held.events) or [held.lot.started]
    return Crate(
        name=f"Lot {held.lot.name}",
        description="Wafers of one flow: as planned, as run and as measured, with the files that this rests on."
        + (" Invented example." if held.lot.invented else ""),
        made=when,
        begun=times[0],
        ended=times[-1],
        people=tuple(sorted({event.who for event in held.events if event.who})),
        version=__version__,
        files=tuple(
            CrateFile(
                path=path, name=PurePosixPath(path).name, media=_media(path), size=len(content), sha256=digest(content)
            )
            for path, content in made.items()
        ),
    )  # fmt: skip


def _media(path: str) -> str:
    suffix = PurePosixPath(path).suffix.lower()
    return _MEDIA.get(suffix) or mimetypes.guess_type(path)[0] or "application/octet-stream"


def _words_of(held: Held) -> tuple[str, dict[str, str]]:
    """What the flow is called and, by number, its steps; without steps where the plan cannot be read."""
    try:
        lab = lab_from_text(held.lot.lab_text, "lab.yaml") if held.lot.lab_text else Lab(name="")
        flow = flow_from_text(held.lot.flow_text, f"plan of lot {held.lot.name}", lab)
    except BadInput:
        return "plan that this version of the program does not read", {}
    return flow.title, {step.number: f"{step.code} {step.title}" for step in flow.steps}


def _told(held: Held) -> BundleLot:
    title, titles = _words_of(held)
    entries = []
    for event in held.events:
        value = "" if event.value is None else show(event.value, event.unit)
        words = ": ".join(each for each in (f"{event.kind} {event.name}".strip(), value) if each)
        if event.text:
            words += f" ({event.text})" if value else f": {event.text}"
        entries.append(
            BundleEntry(
                when=event.happened[:16].replace("T", " "),
                who=event.who,
                wafer=event.wafer or "all",
                step=titles.get(event.step, event.step),
                what=words,
            )
        )
    return BundleLot(
        name=held.lot.name,
        title=title,
        wafers=held.lot.wafers,
        started=held.lot.started[:16].replace("T", " "),
        note=held.lot.note,
        head=held.head,
        flow=held.lot.flow_text,
        entries=entries,
    )


def _entries_table(lots: Iterable[Held]) -> str:
    heads = ("lot", "happened", "written", "who", "wafer", "step", "kind", "name", "value [SI]", "unit as written",
             "text", "id", "about", "sha256", "invented")  # fmt: skip
    rows = [
        (e.lot, e.happened, e.written, e.who, e.wafer, e.step, e.kind, e.name, e.value, e.unit, e.text, e.id, e.about,
         e.sha256, e.invented)
        for held in lots
        for e in held.events
    ]  # fmt: skip
    return csv_text([heads, *rows])


def _files_table(lots: Iterable[Held]) -> str:
    heads = ("lot", "name", "wafer", "device", "W [m]", "L [m]", "kept", "who", "sha256", "path", "invented")
    rows = [
        (f.lot, f.name, f.wafer, f.device, f.width, f.length, f.kept, f.who, f.sha256,
         kept_path(f.sha256, f.name), f.invented)
        for held in lots
        for f in held.files
    ]  # fmt: skip
    return csv_text([heads, *rows])


def _calibrations_table(lots: Iterable[Held]) -> str:
    heads = ("lot", "of", "tool", "material", "medium", "recipe", "value", "std", "who", "when")
    rows = [
        (a.lot, c.of, c.tool, c.material, c.medium, c.recipe, c.value, c.std, a.who, a.when)
        for held in lots
        for a in held.accepted
        for c in (a.calibration,)
    ]
    return csv_text([heads, *rows])


def _zipped(target: Path, content: Mapping[str, bytes]) -> tuple[Path, ...]:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, each in sorted(content.items()):
            archive.writestr(path, each)
    return (write(target, packed.getvalue()),)


def _unpacked(target: Path, content: Mapping[str, bytes]) -> tuple[Path, ...]:
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput(
            Problem(
                what="the place of the bundle",
                expected="a folder that is not there yet, or is empty",
                got=f"{target}, which holds something",
                why="files of another hand-over would stay among the new ones",
                remedy="name another folder, or a file that ends in .zip",
                file=str(target),
            )
        )
    return tuple(write(target / path, each) for path, each in sorted(content.items()))
