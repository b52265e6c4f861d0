"""Tools and baths of the lab, as they are today."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Request

from filmwright.desk.bench.tools import tool, tools
from filmwright.web.api.guard import needs
from filmwright.web.context import bench_of

routes = APIRouter()


@routes.get("/tools", dependencies=[needs("read")])
def read_tools(request: Request) -> dict[str, Any]:
    """Every tool with its state, what is due, checks with their limits, numbers with their band, and its baths."""
    return dict(tools(bench_of(request)).fields())


@routes.get("/tools/{name}", dependencies=[needs("read")])
def read_tool(request: Request, name: Annotated[str, Path(max_length=80)]) -> dict[str, Any]:
    """One tool with its history."""
    return dict(tool(bench_of(request), name).fields())
