"""Self-contained HTML pages: one file each, no outside resource, every text escaped."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Mapping
from typing import Any

from filmwright.outputs.plot import Plot
from filmwright.outputs.plot_live import plot_html, with_scripts
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
    """A page from a template of the package; text is escaped unless the template marks it as ``raw``.

    A template draws a figure by ``live(plot)``; what makes figures live is then packed into the page, once.
    """
    import markupsafe

    numbers = itertools.count()

    def live(plot: Plot) -> markupsafe.Markup:
        return markupsafe.Markup(plot_html(plot, f"f{next(numbers)}-"))

    return with_scripts(str(_environment().get_template(name).render(**content, live=live)))
