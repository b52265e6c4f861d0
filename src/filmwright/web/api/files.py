"""Kept files: instrument tables with what was extracted from them, and photos."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request
from starlette.responses import Response

from filmwright.desk.bench import Visitor
from filmwright.desk.bench.measurements import keep_one
from filmwright.desk.bench.photos import keep_photo
from filmwright.web.api.guard import needs
from filmwright.web.api.models import FileOut, MeasurementOut, PhotoOut
from filmwright.web.attachments import attachment
from filmwright.web.context import bench_of
from filmwright.web.guard import Refused
from filmwright.web.shares import spend_files

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


_BYTES: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


async def _sent(request: Request) -> bytes:
    return await request.body()


Sent = Annotated[bytes, Depends(_sent)]
FileName = Annotated[str, Query(min_length=1, max_length=200, description="As the instrument named it.")]


@routes.post("/lots/{lot}/files", status_code=201, responses={200: {"model": FileOut}}, openapi_extra=_BYTES)
def write_file(  # noqa: PLR0913 - one word per thing that can be said of a file
    request: Request,
    response: Response,
    lot: LotName,
    caller: Annotated[Visitor, needs("log")],
    raw: Sent,
    name: FileName,
    device: Annotated[
        str, Query(max_length=80, description="On the drawing of the lot; empty: not known.")
    ] = "",
    wafer: Annotated[str, Query(max_length=40)] = "",
    who: Annotated[
        str, Query(max_length=60, description="Alone on one machine; else the token's owner.")
    ] = "",
) -> FileOut:
    """Keep a table of an instrument with a lot, its bytes as they are; sent twice for one device and wafer it is kept once."""
    bench = bench_of(request)
    if not bench.has(lot):
        raise Refused("There is no lot of this name.", 404)
    spend_files(request, caller.name, [len(raw)])
    kept, new = keep_one(bench, lot, (name, raw), device=device, wafer=wafer, who=caller.name or who)
    response.status_code = 201 if new else 200
    return FileOut(**_file(kept))


@routes.post("/photos", status_code=201, openapi_extra=_BYTES)
def write_photo(
    request: Request, caller: Annotated[Visitor, needs("log")], raw: Sent, name: FileName
) -> PhotoOut:
    """Keep a photo; an entry of kind `photo` then names it by its digest."""
    spend_files(request, caller.name, [len(raw)])
    return PhotoOut(sha256=keep_photo(bench_of(request), raw, name))


def _files(request: Request, lot: str) -> Any:
    bench = bench_of(request)
    return bench.store.files(bench.lot(lot).name)


def _file(held: Any) -> dict[str, Any]:
    return {name: getattr(held, name) for name in FileOut.model_fields}
