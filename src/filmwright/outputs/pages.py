"""Self-contained HTML pages: one file each, no outside resource, every text escaped."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

from filmwright.outputs.sheet import template


@functools.cache
def _environment() -> Any:
    import jinja2
    import markupsafe

    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(template),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["raw"] = markupsafe.Markup
    environment.globals["shipped"] = lambda name: markupsafe.Markup(template(name))
    return environment


def render(name: str, content: Mapping[str, object]) -> str:
    """A page from a template of the package; text is escaped unless the template marks it as ``raw``."""
    return str(_environment().get_template(name).render(**content))
