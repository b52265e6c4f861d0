"""Plan files of the served folder: the list, and each with its text, its findings and its pictures."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench.plans import (
    DifferenceLine,
    Saved,
    SavedMeanwhile,
    difference,
    place_of,
    plan_files,
    plan_versions,
    read_plan,
    save_plan,
)
from filmwright.desk.bench.surroundings import Surroundings, accepted_of
from filmwright.errors import BadInput, Problem
from filmwright.web.context import bench_of, settings_of
from filmwright.web.editing import LIMIT, Editing, answers, asked, editing_page, reviewer, text_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import may
from filmwright.web.render import page

START = """flow: what is made
because: what it is for

wafer:
  body: silicon
  diameter: 100 mm

steps:
  - clean: solvent clean
"""
"""What a new plan begins with."""


def folder_of(request: Request) -> Path:
    """The folder of plans that is served."""
    found = settings_of(request).plans or getattr(bench_of(request), "plans", None)
    if found is None:
        raise BadInput(
            Problem(
                what="the folder of plans",
                expected="named when the server starts",
                got="none",
                why="only plans of that folder are shown and changed here",
                remedy="start it with --plans FOLDER",
            )
        )
    return Path(found)


def plans_page(request: Request) -> Response:
    """The list of plans."""
    served = settings_of(request).plans or getattr(bench_of(request), "plans", None)
    found = plan_files(Path(served)) if served is not None else ()
    return page(
        request,
        "plans.html",
        title="Plans",
        plans=found,
        served=served is not None,
        may_save=may(request, "save flow"),
    )


def new_plan(request: Request, form: Form) -> Response:
    """Begin a plan: from another one, or from a few lines."""
    folder, name = folder_of(request), _with_ending(form.text("name", limit=80))
    source = form.text("from", limit=200)
    text = read_plan(folder, source).text if source else START
    why = f"begun from {source}" if source else "begun"
    save_plan(folder, name, text, seen="", who=form.who, reason=why)
    return to(f"/plan/{quote(name)}")


def _with_ending(name: str) -> str:
    return name if not name or name.lower().endswith((".yaml", ".yml")) else f"{name}.yaml"


def around(request: Request) -> Surroundings:
    """What lies around the plan that a request is about."""
    name = request.path_params["name"]
    bench = bench_of(request)
    place = place_of(folder_of(request), name, new=True)
    return Surroundings.of_plan(place, name, accepted_of(bench), getattr(bench, "lab", None))


def _editing(request: Request, text: str, seen: str, reason: str = "") -> Editing:
    name = request.path_params["name"]
    return Editing(
        title=name,
        action=f"/plan/{quote(name)}",
        text=text,
        seen=seen,
        saved_as="a new version of this plan; lots that were started keep theirs",
        reason=reason,
    )


def plan_page(request: Request) -> Response:
    """One plan as it stands, and what it said before where a version is asked for."""
    folder, name = folder_of(request), request.path_params["name"]
    read = read_plan(folder, name)
    versions = plan_versions(folder, name)
    wanted = request.query_params.get("version", "")
    return editing_page(
        request,
        _editing(request, read.text, read.digest),
        reviewer(request).read(read.text, around(request)),
        versions=tuple(reversed(versions)),
        version_lines=_changed_by(versions, wanted),
        said="Saved." if request.query_params.get("saved") else "",
    )


def _changed_by(versions: tuple[Saved, ...], wanted: str) -> tuple[DifferenceLine, ...] | None:
    """What a version changed; None where none is asked for."""
    for k, each in enumerate(versions):
        if each.digest == wanted:
            return difference(versions[k - 1].text if k else each.text, each.text)
    return None


def review_plan(request: Request, form: Form) -> Response:
    """The text as it was typed, reviewed; for readers without script."""
    text = text_of(form)
    answer = reviewer(request).review(
        text, around(request), writer=form.text("writer", limit=64), pictures=True
    )
    return editing_page(request, _editing(request, text, form.text("seen"), form.text("reason")), answer)


def save(request: Request, form: Form) -> Response:
    """Save the plan; who read an older text is shown both."""
    folder, name, text = folder_of(request), request.path_params["name"], text_of(form)
    try:
        save_plan(folder, name, text, seen=form.text("seen"), who=form.who, reason=form.text("reason"))
    except SavedMeanwhile as meanwhile:
        current = meanwhile.current
        return editing_page(
            request,
            _editing(request, text, current.digest, form.text("reason")),
            reviewer(request).read(text, around(request)),
            status=409,
            theirs=difference(text, current.text),
        )
    except BadInput as bad:
        return editing_page(
            request,
            _editing(request, text, form.text("seen"), form.text("reason")),
            reviewer(request).read(text, around(request)),
            status=422,
            problems=bad.problems,
        )
    return to(f"/plan/{quote(name)}?saved=1")


_live, _complete = answers(around)

routes = [
    Route("/plans", plans_page),
    Route("/plans/new", posted(new_plan, needs="save flow"), methods=["POST"]),
    Route("/plan/{name:path}/live", asked(_live), methods=["POST"]),
    Route("/plan/{name:path}/complete", asked(_complete), methods=["POST"]),
    Route("/plan/{name:path}/review", asked(review_plan), methods=["POST"]),
    Route("/plan/{name:path}/save", posted(save, needs="save flow", limit=LIMIT), methods=["POST"]),
    Route("/plan/{name:path}", plan_page),
]
