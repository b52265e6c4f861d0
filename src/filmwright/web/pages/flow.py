"""The flow of a lot: its newest version as text, with its review beside it; saving makes a new version of what is not begun."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.plans import DifferenceLine, difference
from filmwright.desk.bench.surroundings import Surroundings, of_lot
from filmwright.desk.bench.versions import NewVersion, save_version
from filmwright.errors import BadInput
from filmwright.web.context import bench_of
from filmwright.web.editing import (
    ACCEPT,
    LIMIT,
    Editing,
    VersionRow,
    answers,
    asked,
    editing_page,
    reviewer,
    text_of,
)
from filmwright.web.forms import Form, posted, to


def _bench(request: Request) -> Bench:
    found: Bench = bench_of(request)
    return found


def _lot(request: Request) -> str:
    name: str = request.path_params["lot"]
    return _bench(request).lot(name).name


def around(request: Request) -> Surroundings:
    """Lab file and drawing of the lot, as they were frozen."""
    return of_lot(_bench(request), _lot(request))


def _editing(lot: str, text: str, seen: str, reason: str = "") -> Editing:
    return Editing(
        title="Flow",
        lot=lot,
        action=f"/lot/{quote(lot)}/flow",
        text=text,
        seen=seen,
        saved_as="a new version for the steps that are not begun; what was begun stays as it was",
        reason=reason,
    )


def flow_page(request: Request) -> Response:
    """The newest version, those before it, and what one of them changed."""
    lot, bench = _lot(request), _bench(request)
    text, newest = bench.flow_text(lot), bench.versions(lot)[-1]
    return editing_page(
        request,
        _editing(lot, text, newest.digest),
        reviewer(request).read(text, around(request)),
        versions=_versions(bench, lot),
        version_lines=_changed_by(bench, lot, request.query_params.get("version", "")),
        said="Saved as a new version." if request.query_params.get("saved") else "",
    )


def _versions(bench: Bench, lot: str) -> tuple[VersionRow, ...]:
    """Newest first."""
    return tuple(
        VersionRow(
            digest=each.digest, when=each.happened, who=each.who, reason=each.why or "as the lot was started"
        )
        for each in reversed(bench.versions(lot))
    )


def _changed_by(bench: Bench, lot: str, wanted: str) -> tuple[DifferenceLine, ...] | None:
    """What a version changed; None where none is asked for."""
    every = bench.versions(lot)
    for k, each in enumerate(every):
        if each.digest == wanted:
            text = bench.flow_text(lot, each.digest)
            return difference(bench.flow_text(lot, every[k - 1].digest) if k else text, text)
    return None


def review_flow(request: Request, form: Form) -> Response:
    """The text as it was typed, reviewed; for readers without script."""
    lot, text = _lot(request), text_of(form)
    answer = reviewer(request).review(
        text, around(request), writer=form.text("writer", limit=64), pictures=True
    )
    return editing_page(
        request,
        _editing(lot, text, form.text("seen"), form.text("reason")),
        answer,
        versions=_versions(_bench(request), lot),
    )


def save(request: Request, form: Form) -> Response:
    """Save a new version; what is refused leaves the text as it was typed, what was saved in between is shown beside it."""
    lot, bench, text = _lot(request), _bench(request), text_of(form)
    wanted = NewVersion(
        lot=lot, text=text, why=form.text("reason"), who=form.who, seen=form.text("seen"), id=form.entry_id,
        acknowledged=_accepted(form),
    )  # fmt: skip
    try:
        save_version(bench, wanted, apart=True)
    except BadInput as bad:
        newest = bench.versions(lot)[-1]
        between = newest.digest != wanted.seen
        return editing_page(
            request,
            _editing(lot, text, newest.digest, wanted.why),
            reviewer(request).read(text, around(request)),
            status=409 if between else 422,
            theirs=difference(text, bench.flow_text(lot)) if between else None,
            problems=bad.problems,
            accepting={rule: wanted.acknowledged.get(rule, "") for rule in getattr(bad, "rules", ())},
            versions=_versions(bench, lot),
        )
    return to(f"/lot/{quote(lot)}/flow?saved=1")


def _accepted(form: Form) -> dict[str, str]:
    """Findings that stop and why they are accepted here, by rule."""
    names = [name for name in form.words if name.startswith(ACCEPT)]
    return {name.removeprefix(ACCEPT): form.text(name, limit=500) for name in names}


_live, _complete = answers(around)
_PAGE = "/lot/{lot}/flow"

routes = [
    Route(_PAGE, flow_page),
    Route(f"{_PAGE}/live", asked(_live), methods=["POST"]),
    Route(f"{_PAGE}/complete", asked(_complete), methods=["POST"]),
    Route(f"{_PAGE}/review", asked(review_flow), methods=["POST"]),
    Route(f"{_PAGE}/save", posted(save, needs="save flow", limit=LIMIT), methods=["POST"]),
]
