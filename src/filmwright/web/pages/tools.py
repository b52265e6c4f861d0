"""Tools and baths: their state, what is due, readings with limits and band, and the forms that write into their logbooks."""

from __future__ import annotations

from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import tool_entries as entries
from filmwright.desk.bench.tool_charts import chart_svg, check_content, number_content
from filmwright.desk.bench.tools import STATES, ToolToday, tool, tools
from filmwright.web.context import bench_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.render import page

SIGNS = {
    "up": "ready",
    "limited": "caution",
    "down": "held",
    "in use": "ready",
    "expired": "expired",
    "discarded": "away",
}
"""State of a tool or a bath → its drawn sign."""

_ONE = "/tool/{name:path}"
_SHOWN = 25


def tools_page(request: Request) -> Response:
    """All tools, those first that ask for a hand."""
    bench = bench_of(request)
    return page(request, "tools.html", title="Tools", answer=tools(bench), signs=SIGNS, unread=bench.unread())


def tool_page(request: Request) -> Response:
    """One tool."""
    return _page(request, tool(bench_of(request), request.path_params["name"]))


def _page(
    request: Request, told: ToolToday, asked: dict[str, str] | None = None, said: str = "", status: int = 200
) -> Response:
    site = f"/tool/{quote(told.name, safe='')}"
    return page(
        request, "tool.html", title=told.name[:1].upper() + told.name[1:], told=told, signs=SIGNS, path=site, states=STATES,
        charts={
            "check": [_address(site, "check", k, len(each.lines), told) for k, each in enumerate(told.checks)],
            "number": [_address(site, "number", k, len(each.readings), told) for k, each in enumerate(told.numbers)],
        },
        names=entries.names_checked([each.name for each in told.checks]), quantities=entries.QUANTITIES,
        bath_actions=entries.BATH_ACTIONS, lines=told.lines[:_SHOWN], asked=asked, said=said, status=status, written=entries.reading_words,
    )  # fmt: skip


def _address(site: str, kind: str, place: int, readings: int, told: ToolToday) -> str:
    """Where a chart is drawn; another reading or another day makes another address. A single reading needs no chart."""
    lines = told.lines[0].id if told.lines else ""
    return f"{site}/chart/{kind}/{place}.svg?of={lines}-{told.on}" if readings > 1 else ""


def chart(request: Request) -> Response:
    """A drift chart, drawn when it is looked at."""
    bench = bench_of(request)
    told = tool(bench, request.path_params["name"])
    kind, place = request.path_params["kind"], request.path_params["place"]
    rows = {"check": told.checks, "number": told.numbers}.get(kind, ())
    if place >= len(rows):
        raise HTTPException(404)
    if kind == "check":
        content = check_content(told.checks[place], told.on, [each[:10] for each in told.maintenance])
    else:
        content = number_content(told.numbers[place], bench.lab_now())
    headers = {
        "cache-control": "private, max-age=86400",
        "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'",
    }
    return Response(chart_svg(content), media_type="image/svg+xml", headers=headers)


def _by(form: Form) -> entries.Line:
    return entries.Line(who=form.who, id=form.entry_id, sure=form.text("sure") == "yes")


def write(request: Request, form: Form) -> Response:
    """A line that whoever works at the tool may write: state, check, note, bath, taking back."""
    bench, name, by = bench_of(request), request.path_params["name"], _by(form)
    what = form.text("what")
    if what == "state":
        written = entries.set_state(bench, name, form.text("state"), form.text("why"), by)
    elif what == "check":
        value = f"{form.text('value')} {form.text('unit')}".strip()
        written = entries.add_check(bench, name, form.text("quantity"), value, by, recipe=form.text("recipe"))
    elif what == "bath":
        written = entries.bath_action(
            bench,
            form.text("bath"),
            form.text("action"),
            by,
            wafers=form.text("wafers"),
            words=form.text("words"),
        )
    elif what == "take back":
        written = entries.take_back(bench, form.text("book"), form.text("about"), form.text("why"), by)
    else:
        written = entries.add_note(bench, f"tool:{name}", form.text("words"), by)
    return _answered(request, form, written)


def change(request: Request, form: Form) -> Response:
    """A line that moves what everything is planned with: a reading, a maintenance, a version of a recipe."""
    bench, name, by = bench_of(request), request.path_params["name"], _by(form)
    what = form.text("what")
    if what == "maintenance":
        written = entries.add_maintenance(bench, name, form.text("words"), by)
    elif what == "recipe":
        written = entries.add_recipe(bench, name, form.text("recipe"), form.text("words"), by)
    else:
        written = entries.add_reading(
            bench, name, form.text("quantity"), form.text("value"), by, material=form.text("material"),
            medium=form.text("medium"), recipe=form.text("recipe"), evidence=form.text("words"),
            monthly=form.text("monthly") == "yes",
        )  # fmt: skip
    return _answered(request, form, written)


def _answered(request: Request, form: Form, written: entries.Written) -> Response:
    """Go on to the tool; a line that looks odd is asked about before it is kept."""
    name = request.path_params["name"]
    if written.kept:
        return to(f"/tool/{quote(name, safe='')}")
    again = {key: values[0] for key, values in form.words.items() if key not in ("token", "sure")}
    again["to"] = request.url.path
    return _page(request, tool(bench_of(request), name), asked=again, said=written.said, status=422)


routes = [
    Route("/tools", tools_page),
    Route(_ONE + "/chart/{kind}/{place:int}.svg", chart),
    Route(_ONE + "/write", posted(write, needs="log"), methods=["POST"]),
    Route(_ONE + "/change", posted(change, needs="edit tools"), methods=["POST"]),
    Route(_ONE, tool_page),
]
