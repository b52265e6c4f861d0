"""Kept files: instrument tables with what was extracted from them."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from filmwright.web.api.guard import needs
from filmwright.web.api.models import FileOut, MeasurementOut
from filmwright.web.attachments import attachment
from filmwright.web.context import bench_of
from filmwright.web.guard import Refused

routes = APIRouter()

LotName = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
Sha = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]


@routes.get("/lots/{lot}/files", dependencies=[needs("read")])
def read_files(request: Request, lot: LotName) -> list[FileOut]:
    """The kept files of a lot, the newest entry of each."""
    return [FileOut(**_file(each)) for each in _files(request, lot)]


@routes.get("/lots/{lot}/measurements", dependencies=[needs("read")])
def read_measurements(request: Request, lot: LotName) -> list[MeasurementOut]:
    """The kept files of a lot with the parameters that were extracted, each with its definition and unit."""
    return [
        MeasurementOut(**_file(each), parameters=json.loads(each.parameters)) for each in _files(request, lot)
    ]


@routes.get(
    "/lots/{lot}/files/{sha256}",
    dependencies=[needs("read")],
    response_class=Response,
    responses={
        200: {"content": {"application/octet-stream": {}}, "description": "The bytes as they were kept"}
    },
)
def read_file(request: Request, lot: LotName, sha256: Sha) -> Response:
    """The bytes of a kept file, as an attachment."""
    for each in _files(request, lot):
        if each.sha256 == sha256:
            return attachment(bench_of(request).store.raw(sha256), each.name)
    raise Refused("There is no file of this digest in this lot.", 404)


def _files(request: Request, lot: str) -> Any:
    bench = bench_of(request)
    return bench.store.files(bench.lot(lot).name)


def _file(held: Any) -> dict[str, Any]:
    return {name: getattr(held, name) for name in FileOut.model_fields}
