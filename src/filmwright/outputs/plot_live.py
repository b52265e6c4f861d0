"""A figure in a page: drawn at rest as vector, and live as soon as the page's own script runs.

The plotting library's script is taken from its installed package and packed into the page once; nothing is fetched. A
page without scripts, and a print, show the vector picture.
"""

from __future__ import annotations

import base64
import functools
import gzip
import json
import math
from html import escape
from typing import Any

import numpy as np

from filmwright.outputs.plot import DARK_INKS, DASHES, INKS, Axis, Dots, FloatArray, Panel, Plot, Series
from filmwright.outputs.plot_paper import CROWD, INK, NAMED, PAPER, panel_svg
from filmwright.outputs.sheet import template

_SYMBOLS = {
    "circle": "circle",
    "square": "square",
    "diamond": "diamond",
    "triangle": "triangle-up",
    "cross": "cross",
    "x": "x-thin-open",
    "ring": "circle-open",
}
_DIGITS = 7
"""Significant digits of a number in a page: more than any instrument gives."""

_CIVIDIS = ((0.0, "#00224e"), (0.25, "#424d6c"), (0.5, "#7d7c78"), (0.75, "#bcae6c"), (1.0, "#fee838"))
_DIVERGING = ((0.0, "#7f3b08"), (0.25, "#f1a340"), (0.5, "#f7f7f7"), (0.75, "#998ec3"), (1.0, "#2d004b"))

CONFIG = {
    "displayModeBar": False,
    "displaylogo": False,
    "responsive": True,
    "scrollZoom": False,
    "showTips": False,
    "plotlyServerURL": "",
}
"""No bar of tools, no logo, no upload: what a figure can do stands on buttons of the page."""


def _numbers(values: FloatArray) -> list[float | None]:
    return [float(f"{x:.{_DIGITS}g}") if math.isfinite(x) else None for x in np.asarray(values, dtype=float)]


def live_figure(panel: Panel) -> dict[str, Any]:
    """Data and layout of one panel for the plotting library, as plain values.

    Parameters
    ----------
    panel : Panel

    Returns
    -------
    dict
        With ``data`` (traces) and ``layout``.
    """
    data = [_outline(each) for each in panel.outlines]
    data += [trace for series in panel.series for trace in _series(series, panel)]
    data += [trace for tangent in panel.tangents for trace in _tangent(tangent)]
    data += [_box(box) for box in panel.boxes]
    if panel.matrix is not None:
        data.append(_matrix(panel))
    if panel.surface is not None:
        data.append(_surface(panel))
    if panel.dots is not None:
        data += _dots(panel.dots, panel)
    return {"data": data, "layout": _layout(panel)}


def _series(series: Series, panel: Panel) -> list[dict[str, Any]]:
    ink = INKS[series.ink % len(INKS)]
    traces: list[dict[str, Any]] = []
    banded = series.low is not None and series.high is not None
    if banded and series.line:
        assert series.low is not None and series.high is not None  # noqa: PT018 - told to the type checker
        traces.append(
            {
                "type": "scatter",
                "x": _numbers(np.concatenate([series.x, series.x[::-1]])),
                "y": _numbers(np.concatenate([series.high, series.low[::-1]])),
                "mode": "lines",
                "line": {"width": 0},
                "fill": "toself",
                "fillcolor": ink + "29",
                "hoverinfo": "skip",
                "showlegend": False,
                "meta": {"band": series.label},
            }
        )
    mode = "+".join(word for word, on in (("lines", series.line), ("markers", bool(series.mark))) if on)
    trace: dict[str, Any] = {
        "type": "scatter",
        "mode": mode,
        "x": _numbers(series.x),
        "y": _numbers(series.y),
        "name": series.label,
        "showlegend": bool(series.label),
        "line": {"color": ink, "width": 1.3 if series.thin else 2, "dash": dash_words(series.dash)},
        "hovertemplate": hover(panel.x, panel.y, series.label, bool(series.notes)),
    }
    if series.mark:
        symbol = _SYMBOLS[series.mark]
        outline = {"color": ink, "width": 1.5}
        trace["marker"] = {
            "color": ink,
            "symbol": symbol,
            "size": 4 if len(series.x) > CROWD else 6 if series.thin else 8,
            "line": outline,
        }
    if series.notes:
        trace["text"] = [escape(note) for note in series.notes]
    if banded and not series.line:
        assert series.low is not None and series.high is not None  # noqa: PT018 - told to the type checker
        trace["error_y"] = {
            "type": "data",
            "symmetric": False,
            "array": _numbers(series.high - series.y),
            "arrayminus": _numbers(series.y - series.low),
            "color": ink,
            "thickness": 1.4,
            "width": 0,
        }
    return [*traces, trace]


def dash_words(number: int) -> str:
    """One of our dashes as the library wants it, at a line of 2 px."""
    pattern = DASHES[number % len(DASHES)]
    return ",".join(f"{2 * length:g}px" for length in pattern) if pattern else "solid"


def hover(x: Axis, y: Axis, label: str, notes: bool = False) -> str:
    """What is told of a point under the pointer: both numbers with their units, and the name of its curve."""
    parts = []
    for which, axis in (("x", x), ("y", y)):
        unit = "" if axis.unit in ("", "1") else f" {escape(axis.unit)}"
        shown = f"%{{{which}}}" if axis.scale == "names" else f"%{{{which}:.4~g}}{unit}"
        parts.append(f"{escape(axis.label)} {shown}" if axis.scale != "names" else shown)
    if notes:
        parts.append("%{text}")
    return "<br>".join(parts) + f"<extra>{escape(label)}</extra>"


def _tangent(tangent: Any) -> list[dict[str, Any]]:
    (x0, y0), (x1, y1) = tangent.start, tangent.end
    line = {
        "type": "scatter",
        "mode": "lines",
        "x": _numbers(np.array([x0, x1])),
        "y": _numbers(np.array([y0, y1])),
        "name": tangent.label,
        "showlegend": bool(tangent.label),
        "line": {"color": INK, "width": 1.4, "dash": "8px,4px"},
        "hoverinfo": "skip",
        "meta": {"tangent": tangent.label},
    }
    if tangent.foot is None:
        return [line]
    foot = {
        "type": "scatter",
        "mode": "markers",
        "x": _numbers(np.array([tangent.foot[0]])),
        "y": _numbers(np.array([tangent.foot[1]])),
        "marker": {"symbol": "line-ns", "size": 14, "line": {"color": INK, "width": 2}},
        "showlegend": False,
        "cliponaxis": False,
        "hovertemplate": f"%{{x:.4~g}} V<extra>{escape(tangent.label)}</extra>",
        "meta": {"foot": tangent.label},
    }
    return [line, foot]


def _outline(outline: Any) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": _numbers(outline.x),
        "y": _numbers(outline.y),
        "line": {"color": INK, "width": 2.6 if outline.thick else 1.2},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _box(box: Any) -> dict[str, Any]:
    return {
        "type": "box",
        "x": [box.place],
        "q1": [box.quarter],
        "median": [box.median],
        "q3": [box.three_quarters],
        "lowerfence": [box.low],
        "upperfence": [box.high],
        "width": 0.52,
        "fillcolor": INK + "12",
        "line": {"color": INK, "width": 1.4},
        "showlegend": False,
        "hoverinfo": "y",
        "name": box.label,
    }


def _matrix(panel: Panel) -> dict[str, Any]:
    matrix = panel.matrix
    assert matrix is not None  # only asked for panels that have one
    rows = [_numbers(row) for row in matrix.values]
    shown = [["–" if x is None else f"{x:.2f}".replace("-", "−") for x in row] for row in rows]
    notes = matrix.notes or tuple(("",) * matrix.values.shape[1] for _ in rows)
    return {
        "type": "heatmap",
        "z": rows,
        "text": shown,
        "texttemplate": "%{text}",
        "customdata": [[escape(note) for note in row] for row in notes],
        "zmin": -1,
        "zmax": 1,
        "colorscale": [list(stop) for stop in _DIVERGING],
        "showscale": False,
        "xgap": 1,
        "ygap": 1,
        "hovertemplate": "%{y} with %{x}: %{text}<br>%{customdata}<extra></extra>",
    }


def _surface(panel: Panel) -> dict[str, Any]:
    surface = panel.surface
    assert surface is not None  # only asked for panels that have one
    return {
        "type": "contour",
        "x": _numbers(surface.x),
        "y": _numbers(surface.y),
        "z": [_numbers(row) for row in surface.z],
        "contours": {"coloring": "none", "showlabels": True, "labelfont": {"size": 10, "color": INK}},
        "line": {"color": INK + "99", "width": 0.8},
        "showscale": False,
        "hoverinfo": "skip",
        "name": surface.label,
        "showlegend": bool(surface.label),
    }


def _dots(dots: Dots, panel: Panel) -> list[dict[str, Any]]:
    known, away = np.isfinite(dots.value), np.asarray(dots.outlier, dtype=bool)
    spread = float(np.ptp(dots.value[known])) if known.any() else 0.0
    share = (
        (dots.value[known] - dots.value[known].min()) / spread if spread else np.full(int(known.sum()), 0.5)
    )
    few = len(dots.x) <= NAMED
    unit = "" if dots.unit == "1" else f" {escape(dots.unit)}"
    where = f"<br>x %{{x:.4~g}} {panel.x.unit}, y %{{y:.4~g}} {panel.y.unit}"

    def told(rows: Any) -> dict[str, Any]:
        return {
            "type": "scatter",
            "x": _numbers(dots.x[rows]),
            "y": _numbers(dots.y[rows]),
            "customdata": [[escape(dots.names[at]), escape(dots.notes[at])] for at in np.flatnonzero(rows)],
            "showlegend": False,
        }

    good = {
        **told(known),
        "mode": "markers+text" if few else "markers",
        "text": [f"{x:.3g}".replace("-", "−") for x in dots.value[known]] if few else None,
        "textposition": "bottom center",
        "textfont": {"size": 10},
        "name": dots.label,
        "marker": {
            "symbol": "square",
            "color": _numbers(dots.value[known]),
            "colorscale": [list(stop) for stop in _CIVIDIS],
            "size": [round(9 + 7 * float(part), 1) for part in share],
            "line": {"color": INK, "width": 0.8},
            "colorbar": {
                "title": {"text": dots.text, "side": "right"},
                "thickness": 12,
                "outlinewidth": 0,
                "len": 0.8,
            },
        },
        "hovertemplate": f"%{{customdata[0]}}: %{{marker.color:.4~g}}{unit}{where}<br>%{{customdata[1]}}<extra></extra>",
    }
    bad = {
        **told(~known),
        "mode": "markers",
        "name": "no value",
        "showlegend": bool((~known).any()),
        "marker": {"symbol": "x-thin", "size": 11, "color": INK, "line": {"color": INK, "width": 2}},
        "hovertemplate": f"%{{customdata[0]}}: no value{where}<br>%{{customdata[1]}}<extra></extra>",
    }
    rings = {
        **told(away),
        "mode": "markers+text",
        "name": "stands out",
        "showlegend": bool(away.any()),
        "text": [escape(dots.names[at]) for at in np.flatnonzero(away)],
        "textposition": "top center",
        "marker": {"symbol": "circle-open", "size": 24, "color": INK, "line": {"width": 1.4}},
        "hoverinfo": "skip",
    }
    return [good, bad, rings]


def _at(axis: Axis, value: float) -> float:
    """A place for an annotation: on a logarithmic axis the library wants the logarithm."""
    return math.log10(value) if axis.scale == "log" else value


def _layout(panel: Panel) -> dict[str, Any]:
    layout: dict[str, Any] = {
        "xaxis": _axis(panel.x, panel),
        "yaxis": _axis(panel.y, panel),
        "shapes": [*_spans(panel), *_levels(panel)],
        "annotations": [*_arrows(panel), *_level_names(panel)],
        "meta": {"title": panel.title},
        "hovermode": "closest",
    }
    if panel.equal or panel.matrix is not None:
        layout["yaxis"]["scaleanchor"] = "x"
        layout["yaxis"]["constrain"] = layout["xaxis"]["constrain"] = "domain"
    return layout


def _axis(axis: Axis, panel: Panel) -> dict[str, Any]:
    found: dict[str, Any] = {"title": {"text": axis.text}, "type": "log" if axis.scale == "log" else "linear"}
    if axis.scale == "log":
        found["tickfont"] = {"size": 10}  # the library draws powers a quarter larger
    if axis.low is not None and axis.high is not None:
        found["range"] = [_at(axis, axis.low), _at(axis, axis.high)]
    if axis.scale == "names":
        found |= {"tickvals": list(range(len(axis.names))), "ticktext": [escape(name) for name in axis.names]}
        found["range"] = [-0.6, len(axis.names) - 0.4]
        found["title"]["text"] = ""
        if axis is panel.y:
            found["range"].reverse()
    if panel.equal or panel.matrix is not None:
        found["showgrid"] = False
    return found


def _spans(panel: Panel) -> list[dict[str, Any]]:
    return [
        {
            "type": "rect",
            "xref": "x",
            "yref": "paper",
            "x0": span.low,
            "x1": span.high,
            "y0": 0,
            "y1": 1,
            "fillcolor": INKS[span.ink] + "1c",
            "line": {"color": INKS[span.ink] + "80", "width": 1, "dash": "dot"},
            "layer": "below",
            "name": span.label,
        }
        for span in panel.spans
    ]


def _levels(panel: Panel) -> list[dict[str, Any]]:
    found = []
    for level in panel.levels:
        own, other = ("y", "x") if level.across == "y" else ("x", "y")
        found.append(
            {
                "type": "line",
                f"{own}ref": own,
                f"{other}ref": "paper",
                f"{own}0": level.value,
                f"{own}1": level.value,
                f"{other}0": 0,
                f"{other}1": 1,
                "line": {"color": INK, "width": 1, "dash": "dot"},
                "name": level.label,
            }
        )
    return found


def _level_names(panel: Panel) -> list[dict[str, Any]]:
    found = []
    for level in panel.levels:
        flat = level.across == "y"
        place = {"x": 1, "xref": "paper", "y": _at(panel.y, level.value), "yref": "y", "xanchor": "right"}
        if not flat:
            place = {"x": _at(panel.x, level.value), "xref": "x", "y": 1, "yref": "paper", "xanchor": "right"}
        found.append(
            {
                **place,
                "text": escape(level.label),
                "showarrow": False,
                "yanchor": "bottom" if flat else "top",
                "textangle": 0 if flat else -90,
                "font": {"size": 12},
                "bgcolor": PAPER + "cc",
            }
        )
    return found


def _arrows(panel: Panel) -> list[dict[str, Any]]:
    return [
        {
            "x": _at(panel.x, arrow.head[0]),
            "y": _at(panel.y, arrow.head[1]),
            "ax": _at(panel.x, arrow.tail[0]),
            "ay": _at(panel.y, arrow.tail[1]),
            "xref": "x",
            "yref": "y",
            "axref": "x",
            "ayref": "y",
            "text": "",
            "showarrow": True,
            "arrowhead": 2,
            "arrowsize": 1.5,
            "arrowwidth": 2,
            "arrowcolor": INKS[arrow.ink % len(INKS)],
            "name": arrow.label,
        }
        for arrow in panel.arrows
    ]


def look() -> dict[str, Any]:
    """Our own look of every live figure: no box, quiet grid, the page's letters and ink."""
    axis = {
        "showline": True,
        "linecolor": INK,
        "linewidth": 1,
        "ticks": "outside",
        "tickcolor": INK,
        "ticklen": 5,
        "gridcolor": INK + "1a",
        "zeroline": False,
        "exponentformat": "power",
        "showexponent": "all",
        "title": {"standoff": 8, "font": {"size": 13}},
        "automargin": True,
        "tickfont": {"size": 12},
    }
    return {
        "layout": {
            "font": {
                "family": "Inter, Segoe UI, Helvetica Neue, Arial, sans-serif",
                "size": 13,
                "color": INK,
            },
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "colorway": list(INKS),
            "showlegend": False,
            "margin": {"l": 64, "r": 16, "t": 14, "b": 52},
            "hoverlabel": {"font": {"size": 13}, "bordercolor": INK, "align": "left"},
            "xaxis": axis,
            "yaxis": axis,
            "annotationdefaults": {"font": {"size": 12}},
        }
    }


def plot_html(plot: Plot, prefix: str) -> str:
    """A figure as mark-up: each panel as vector at rest, with what the page's script needs to make it live.

    Parameters
    ----------
    plot : Plot
    prefix : str
        Before every id.
    """
    parts = []
    for number, panel in enumerate(plot.panels):
        own = f"{prefix}{number}-"
        packed = json.dumps(live_figure(panel), ensure_ascii=False, separators=(",", ":")).replace(
            "</", "<\\/"
        )
        title = (
            f'<p class="panel-title">{escape(panel.title)}</p>'
            if panel.title and len(plot.panels) > 1
            else ""
        )
        note = f'<p class="panel-note soft">{escape(panel.note)}</p>' if panel.note else ""
        parts.append(
            f'<div class="panel{" square" if panel.equal or panel.matrix else ""}">{title}'
            f'<div class="rest">{panel_svg(panel, prefix=own, title=plot.title)}</div>'
            f'<div class="live" hidden tabindex="0" role="application" aria-label="{escape(panel.told)}"></div>'
            f'<div class="names" hidden></div><div class="does" hidden></div><p class="said" aria-live="polite"></p>{note}'
            f'<script type="application/json" class="figure">{packed}</script></div>'
        )
    columns = min(plot.columns, len(plot.panels))
    return f'<div class="plot columns-{columns}">{"".join(parts)}</div>'


def notebook_figures(plot: Plot) -> tuple[Any, ...]:
    """Each panel as a figure of the plotting library, for notebooks that show those live.

    Parameters
    ----------
    plot : Plot

    Returns
    -------
    tuple of plotly.graph_objects.Figure
    """
    from plotly import graph_objects

    figures = []
    for panel in plot.panels:
        figure = graph_objects.Figure(live_figure(panel))
        figure.update_layout(template=look(), paper_bgcolor=PAPER, title={"text": panel.title or plot.title})
        figure.update_layout(showlegend=True, margin={"t": 56})
        figures.append(figure)
    return tuple(figures)


@functools.cache
def _packed_library() -> str:
    """The library's script as its package ships it, compressed, in letters that a page may hold."""
    from plotly.offline import get_plotlyjs

    return base64.b64encode(gzip.compress(get_plotlyjs().encode(), 9, mtime=0)).decode()


def scripts() -> str:
    """What makes the figures of a page live, to stand once at its end: library, look and our own script."""
    inks = dict(zip(INKS, DARK_INKS, strict=True))
    facts = json.dumps({"look": look(), "config": CONFIG, "dark": inks, "ink": INK}, separators=(",", ":"))
    return (
        f'<script type="application/json" id="figure-look">{facts}</script>'
        f'<script type="application/octet-stream" id="figure-library">{_packed_library()}</script>'
        f"<script>{template('live.js')}</script>"
    )


def with_scripts(page: str) -> str:
    """A page, with the scripts of live figures before its end if it holds any."""
    if 'class="figure"' not in page or 'id="figure-library"' in page:
        return page
    head, tail = page.rsplit("</body>", 1)
    return f"{head}{scripts()}</body>{tail}"
