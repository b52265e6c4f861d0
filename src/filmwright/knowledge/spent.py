"""What a spent bath holds of the film that was etched in it."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources

from filmwright.knowledge.types import Material


@functools.cache
def _rows() -> tuple[tuple[frozenset[str], str], ...]:
    text = resources.files("filmwright.knowledge").joinpath("data/waste.toml").read_text("utf-8")
    return tuple((frozenset(row["families"]), row["says"]) for row in tomllib.loads(text)["spent"])


def spent_with(film: Material) -> str:
    """The waste class that follows from the film; empty where the bath alone decides.

    Parameters
    ----------
    film : Material
    """
    return next((says.format(film=film.name) for families, says in _rows() if families & film.families), "")
