"""Measurements of a lot: files laid down, what was understood of them, kept when confirmed; then what they tell."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.measured_lots import Doing, measured_lots
from filmwright.desk.bench.measured_told import STAGES, Told
from filmwright.desk.bench.measured_views import curve_of, maps_of, parameters_of, strip_of, words
from filmwright.desk.bench.measurements import (
    MOST_FILES,
    Keeping,
    Tray,
    Trays,
    corrections,
    devices_of,
    keep,
    kept_files,
    kept_named,
    laid_again,
    leave_out,
    understood,
    unreadable,
)
from filmwright.desk.bench.recognising import recognise
from filmwright.errors import BadInput
from filmwright.web.attachments import attachment
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import may
from filmwright.web.pages.pictures import picture_address
from filmwright.web.render import page

LIMIT = 64 * 1024 * 1024
"""Bytes of one form with files."""
PATIENCE = 120.0
"""How long a reader without script waits for what the files tell [s]."""
SIZES_PATIENCE = 8.0
"""How long the page of a tray waits for W and L of the drawing [s]; without them it is shown all the same."""
MORE_PATIENCE = 1.0
"""How long a page that already shows a part waits for more of it [s]."""
_DIGEST = re.compile("[0-9a-f]{64}")


def _bench(request: Request) -> Bench:
    found: Bench = bench_of(request)
    return found


def _lot(request: Request) -> str:
    name: str = request.path_params["lot"]
    return _bench(request).lot(name).name


def trays_of(request: Request) -> Trays:
    """The trays of this server."""
    state = request.app.state
    if not hasattr(state, "trays"):
        state.trays = Trays()
    found: Trays = state.trays
    return found


def _explored(request: Request, told: Told | None) -> dict[str, Any]:
    """What the figures show: a parameter, and the device that was chosen."""
    asked = request.query_params
    known = parameters_of(told) if told is not None else ()
    of = asked.get("of", "") if asked.get("of", "") in known else (known[0] if known else "")
    wafer, _, name = asked.get("device", "").partition(" ")
    device = told.device(wafer, name) if told is not None else None
    return {
        "of": of,
        "parameters": known,
        "maps": maps_of(told, of) if told is not None and of else (),
        "strip": strip_of(told, of) if told is not None and of else None,
        "chosen": device,
        "curves": curve_of(device) if device is not None else None,
        "words": words,
    }


def _shown(request: Request, lot: str, doing: Doing, template: str, **more: Any) -> Response:
    """A page, or a part of it, of what is told."""
    return page(
        request,
        template,
        title="Measurements",
        lot=lot,
        doing=doing,
        told=doing.told,
        stages=STAGES,
        here_of=f"/lot/{quote(lot)}/measurements",
        may_log=may(request, "log"),
        **_explored(request, doing.told),
        **more,
    )


def measurements_page(request: Request) -> Response:
    """What is kept, and what it tells as far as it is worked out."""
    lot, bench = _lot(request), _bench(request)
    files = kept_files(bench, lot)
    waits = PATIENCE if request.query_params.get("told") else 0.0
    lots = measured_lots(bench)
    measured = any(each.device for each in files) or lots.inventing(lot)
    doing = lots.doing(bench, lot, waits, len(STAGES)) if measured else Doing()
    return _shown(
        request,
        lot,
        doing,
        "measurements.html",
        files=files,
        measured=measured,
        unread=unreadable(files, doing.told.unread if doing.told is not None else ()),
        most=MOST_FILES,
    )


def told_part(request: Request) -> Response:
    """What the files tell, as a part of the page, once more is worked out than it shows; 202 and what is being done until then."""
    lot, bench = _lot(request), _bench(request)
    shown = min(_number(request.query_params.get("done", "")), len(STAGES) - 1)
    doing = measured_lots(bench).doing(bench, lot, MORE_PATIENCE, shown + 1)
    if doing.told is None or doing.told.done <= shown:
        return JSONResponse(
            {"what": doing.what, "working": doing.working, "drawing": doing.inventing}, status_code=202
        )
    return _shown(request, lot, doing, "measurements_told.html")


def devices_part(request: Request) -> Response:
    """The figures of another parameter or device, as a part of the page; 202 while nothing is told yet."""
    lot, bench = _lot(request), _bench(request)
    doing = measured_lots(bench).doing(bench, lot)
    if doing.told is None:
        return JSONResponse(
            {"what": doing.what, "working": doing.working, "drawing": doing.inventing}, status_code=202
        )
    return _shown(request, lot, doing, "measurements_devices.html")


def figures_page(request: Request) -> Response:
    """Figures for print, drawn when they are asked for."""
    lot, bench = _lot(request), _bench(request)
    why: tuple[str, ...] = ()
    drawn: tuple[tuple[str, str], ...] | None = ()
    try:
        drawn = measured_lots(bench).figures(bench, lot, PATIENCE)
    except BadInput as bad:
        why = tuple(map(str, bad.problems))
    figures = [(title, picture_address(request, svg)) for title, svg in drawn or ()]
    return page(
        request,
        "measurements_figures.html",
        title="Figures for print",
        lot=lot,
        figures=figures,
        late=drawn is None,
        why=why,
    )


def work(request: Request, form: Form) -> Response:
    """Stop working out what the files tell, or go on with it."""
    lot, bench = _lot(request), _bench(request)
    if form.text("do") == "stop":
        measured_lots(bench).stop(bench, lot)
    else:
        measured_lots(bench).go_on(lot)
    return to(f"/lot/{quote(lot)}/measurements")


def kept_file(request: Request) -> Response:
    """A kept file as it was sent, to be saved."""
    lot, bench = _lot(request), _bench(request)
    file = kept_named(bench, lot, request.path_params["sha256"])
    raw = bench.store.raw(file.sha256)
    return attachment(raw, file.name, recognise(raw))


def again(request: Request, form: Form) -> Response:
    """Lay a kept file on a tray once more, so that it can be read another way."""
    lot, bench, trays = _lot(request), _bench(request), trays_of(request)
    tray = laid_again(bench, trays, lot, request.path_params["sha256"])
    measured_lots(bench).sizes(bench, lot)
    return to(_address(tray))


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 3 else 0


def send(request: Request, form: Form) -> Response:
    """Files from a form: laid on a new tray, or on the one that the page already has; nothing is kept."""
    lot, trays = _lot(request), trays_of(request)
    named = form.text("tray", limit=64)
    tray = trays.get(lot, named) if named else trays.begin(lot)
    tray = trays.add(tray, form.files.get("files", ()))
    measured_lots(_bench(request)).sizes(_bench(request), lot)
    if form.text("json"):
        return JSONResponse({"tray": tray.id, "files": len(tray.files), "refused": list(tray.refused)})
    return to(_address(tray))


def _address(tray: Tray) -> str:
    return f"/lot/{quote(tray.lot)}/measurements/tray/{tray.id}"


def tray_page(request: Request) -> Response:
    """What was understood of the files of a tray."""
    lot, bench = _lot(request), _bench(request)
    tray = trays_of(request).get(lot, request.path_params["tray"])
    return _tray(request, bench, tray, {})


def _tray(
    request: Request, bench: Bench, tray: Tray, chosen: Mapping[str, Keeping], status: int = 200
) -> Response:
    sizes = measured_lots(bench).sizes(bench, tray.lot, SIZES_PATIENCE)
    found, noticed = understood(bench, tray, sizes or {}, chosen)
    return page(
        request,
        "measurement_tray.html",
        title="What was understood",
        lot=tray.lot,
        status=status,
        tray=tray,
        address=_address(tray),
        found=found,
        noticed=noticed,
        sized=sizes is not None,
        chosen=chosen,
        devices=devices_of(bench, tray.lot),
        wafers=bench.lot(tray.lot).wafers,
        may_log=may(request, "log"),
    )


def correct(request: Request, form: Form) -> Response:
    """Read the files again with the corrections that were typed."""
    lot, bench, trays = _lot(request), _bench(request), trays_of(request)
    tray = trays.get(lot, request.path_params["tray"])
    tray = trays.correct(tray, _read_as(form))
    return _tray(request, bench, tray, {each.sha256: each for each in _wanted(form)})


def _read_as(form: Form) -> dict[str, tuple[str, ...]]:
    every = corrections(form.text("read_as"))
    own = {
        name.removeprefix("read_as_"): corrections(form.text(name))
        for name in form.words
        if name.startswith("read_as_") and _DIGEST.fullmatch(name.removeprefix("read_as_"))
    }
    return {sha256: (*every, *lines) for sha256, lines in own.items() if every or lines}


def _wanted(form: Form) -> tuple[Keeping, ...]:
    return tuple(
        Keeping(
            sha256=sha256,
            device=form.text(f"device_{sha256}", limit=80),
            wafer=form.text(f"wafer_{sha256}", limit=80),
        )
        for sha256 in form.many("keep")
        if _DIGEST.fullmatch(sha256)
    )


def confirm(request: Request, form: Form) -> Response:
    """Keep what was ticked, raw and with its digest; the tray is then gone."""
    lot, bench, trays = _lot(request), _bench(request), trays_of(request)
    tray = trays.correct(trays.get(lot, request.path_params["tray"]), _read_as(form))
    keep(bench, tray, _wanted(form), who=form.who)
    trays.drop(tray)
    return to(f"/lot/{quote(lot)}/measurements")


def drop(request: Request, form: Form) -> Response:
    """Take the tray away; nothing of it was kept."""
    lot, trays = _lot(request), trays_of(request)
    trays.drop(trays.get(lot, request.path_params["tray"]))
    return to(f"/lot/{quote(lot)}/measurements")


def exclude(request: Request, form: Form) -> Response:
    """Leave a device out, or take it back, for a reason."""
    lot = _lot(request)
    leave_out(
        _bench(request),
        lot,
        form.text("device", limit=80),
        form.text("wafer", limit=80),
        why=form.text("why"),
        who=form.who,
        back=form.text("back") == "yes",
    )
    return to(f"/lot/{quote(lot)}/measurements")


_PAGE = "/lot/{lot}/measurements"

routes = [
    Route(_PAGE, measurements_page),
    Route(f"{_PAGE}/told", told_part),
    Route(f"{_PAGE}/devices", devices_part),
    Route(f"{_PAGE}/figures", figures_page),
    Route(f"{_PAGE}/work", posted(work), methods=["POST"]),
    Route(f"{_PAGE}/file/{{sha256}}", kept_file),
    Route(f"{_PAGE}/file/{{sha256}}/again", posted(again), methods=["POST"]),
    Route(f"{_PAGE}/files", posted(send, limit=LIMIT), methods=["POST"]),
    Route(f"{_PAGE}/exclude", posted(exclude), methods=["POST"]),
    Route(f"{_PAGE}/tray/{{tray}}", tray_page),
    Route(f"{_PAGE}/tray/{{tray}}/read", posted(correct), methods=["POST"]),
    Route(f"{_PAGE}/tray/{{tray}}/keep", posted(confirm), methods=["POST"]),
    Route(f"{_PAGE}/tray/{{tray}}/drop", posted(drop), methods=["POST"]),
]
