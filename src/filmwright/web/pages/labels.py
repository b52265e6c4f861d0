"""Labels to print: for the box, the carriers and the beakers of a lot."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import labels_file
from filmwright.web.context import bench_of
from filmwright.web.render import page


def labels_page(request: Request) -> Response:
    """What can be printed."""
    bench, name = bench_of(request), request.path_params["lot"]
    lot, flow = bench.lot(name), bench.flow(name)
    baths = dict.fromkeys(step.medium for step in flow.steps if step.medium)
    return page(request, "labels.html", title="Labels", lot=lot.name, wafers=lot.wafers, baths=tuple(baths))


def labels_print(request: Request) -> Response:
    """The labels as PDF, to be printed at their own size."""
    name = bench_of(request).lot(request.path_params["lot"]).name
    raw = labels_file(bench_of(request), name, request.query_params.getlist("kind"))
    headers = {"content-disposition": f'inline; filename="labels-{name}.pdf"'}
    return Response(raw, media_type="application/pdf", headers=headers)


routes = [
    Route("/labels/{lot}", labels_page),
    Route("/labels/{lot}/labels.pdf", labels_print),
]
