"""What a tablet keeps so that it works without network: the worker, the manifest, and which pages of a lot it needs."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.step_card import worked_out
from filmwright.web.context import bench_of, settings_of
from filmwright.web.guard import form_token
from filmwright.web.render import STATIC, page, static, static_digest
from filmwright.web.roles import shown

_MOST = 400
"""Pages of one lot that are kept at most."""
_LOOK = 120
"""Seconds after which a tablet looks again for pages that others, or what was worked out since, changed."""
_ENDED = frozenset({"done", "skipped", "scrapped", "away"})


@shown("anyone")
def worker(_request: Request) -> Response:
    """The service worker of this very version of the pages."""
    names = sorted(
        path.relative_to(STATIC).as_posix()
        for path in STATIC.rglob("*")
        if path.is_file() and path.name != "sw.js"
    )
    head = f"const VERSION = {json.dumps(static_digest())};\nconst STATIC = {json.dumps(list(map(static, names)))};\n"
    return Response(
        head + (STATIC / "sw.js").read_text("utf-8"),
        media_type="text/javascript",
        headers={"cache-control": "no-cache"},
    )


@shown("anyone")
def manifest(_request: Request) -> Response:
    """What a tablet shows when the pages are installed on it."""
    return JSONResponse(
        {
            "name": "filmwright bench",
            "short_name": "filmwright",
            "start_url": "/",
            "scope": "/",
            "display": "standalone",
            "background_color": "#fbfaf7",
            "theme_color": "#fbfaf7",
            "icons": [
                {"src": static("icon.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": purpose}
                for purpose in ("any", "maskable")
            ],
        },
        media_type="application/manifest+json",
        headers={"cache-control": "no-cache"},
    )


@shown("anyone")
def without_network(request: Request) -> Response:
    """Instead of a page that is not kept on the device."""
    return page(request, "offline.html", title="No network")


def lot_paths(request: Request) -> Response:
    """The pages of a lot that its work needs, the nearest steps first, each with a mark that changes when it does.

    With them the seconds after which it is worth to look again: what a tablet does itself it keeps at once.
    """
    lot = request.path_params["lot"]
    bench = bench_of(request)
    progress = bench.progress(bench.lot(lot).name)
    present = [each.name for each in progress.present]
    steps = list(progress.steps)
    now = next((k for k, each in enumerate(steps) if each.number == progress.next), 0)
    # Where people sign in, the pages are fetched anew after a change of person: they carry the name, and the token of the sign-in.
    asker = form_token(request)[:12] if settings_of(request).shared else ""
    head = f"{asker} {bench.head(lot)}"
    held = sorted({each.step for each in progress.holds})
    found = dict.fromkeys(("/", f"/lot/{lot}", f"/lot/{lot}/resume", f"/lot/{lot}/timers"), head)
    for step in (*steps[now:], *steps[:now]):
        path, states = (
            f"/lot/{lot}/step/{step.code}",
            [progress.cell(each, step.number).state for each in present],
        )
        # An open hold point shows on the pages of the steps that wait for it.
        waits = ",".join(held) if not set(states) <= _ENDED else ""
        mark = f"{asker} {bench.seen(lot, step.number)} {' '.join(states)} {waits} {worked_out(bench, lot, step.code)[0]}"
        found[path] = mark
        if len(progress.pieces) > 1 and not set(states) <= _ENDED:
            found |= {f"{path}?wafer={each}": mark for each in present}
    return JSONResponse({"paths": list(found.items())[:_MOST], "wait": _LOOK})


routes = [
    Route("/sw.js", worker),
    Route("/manifest.webmanifest", manifest),
    Route("/offline", without_network),
    Route("/lot/{lot}/offline", lot_paths),
]
