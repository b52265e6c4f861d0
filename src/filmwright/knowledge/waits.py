"""How long a wafer usually may wait between two steps."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources

from filmwright.knowledge.types import Wait
from filmwright.units import read


@functools.cache
def usual_waits() -> tuple[Wait, ...]:
    """The usual longest waits between a step and the very next one that is done to the wafer."""
    data = tomllib.loads(
        resources.files("filmwright.knowledge").joinpath("data/waits.toml").read_text("utf-8")
    )
    source = f"{data['source']['kind']}: {data['source']['citation']}"
    return tuple(
        Wait(
            after=row["after"],
            before=row["before"],
            longest=read(row["longest"], "time", f"wait from {row['after']} to {row['before']}").value,
            why=row["why"],
            source=source,
        )
        for row in data["waits"]
    )
