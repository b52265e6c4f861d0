"""Curves and places as figures take them, and how a difference is shared out, as SVG: the same input, the same bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from filmwright.units import convert, plain, write

FloatArray = NDArray[np.float64]
Origin = Literal["measured", "planned", "as run"]

_INK, _PAPER = "#010203", "#fdfefd"


@dataclass(frozen=True, kw_only=True, eq=False)
class Curve:
    """One sweep to plot.

    Attributes
    ----------
    voltage : array (n,) [V]
        Swept.
    current : array (n,) [A]
    gate_current : array (n,) or None [A]
    label : str
    origin : Origin
        Measured, or predicted from the wafer as planned or as run.
    """

    voltage: FloatArray
    current: FloatArray
    label: str = ""
    origin: Origin = "measured"
    gate_current: FloatArray | None = None


@dataclass(frozen=True, kw_only=True)
class Place:
    """One device on a wafer map.

    Attributes
    ----------
    x, y : float [m]
        From the middle of the wafer.
    value : float or None [SI]
        None where the device gave none.
    label, why_not : str
    """

    x: float
    y: float
    value: float | None
    label: str = ""
    why_not: str = ""


@contextmanager
def _style() -> Iterator[None]:
    """Our plot style; outlines for letters, so that no font is needed; fixed ids."""
    import matplotlib

    style: Any = {
        "svg.fonttype": "path",
        "svg.hashsalt": "filmwright",
        "font.size": 10.5,
        "font.family": "DejaVu Sans",
        "axes.edgecolor": _INK,
        "axes.labelcolor": _INK,
        "text.color": _INK,
        "xtick.color": _INK,
        "ytick.color": _INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.linewidth": 0.9,
        "axes.facecolor": "none",
        "figure.facecolor": "none",
        "axes.titlesize": 11,
        "axes.titlelocation": "left",
        "legend.frameon": False,
        "legend.fontsize": 9.5,
        "xtick.direction": "out",
        "ytick.direction": "out",
        "axes.unicode_minus": True,
    }
    with matplotlib.rc_context(style):
        yield


def _figure(width: float, height: float) -> Any:
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasSVG(figure)
    return figure


def _written(figure: Any, title: str, prefix: str) -> str:
    """The figure as an SVG element whose ink follows the page."""
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None, "Title": title})
    text = buffer.getvalue()
    text = text[text.index("<svg") :].replace(_INK, "currentColor").replace(_PAPER, "var(--card, #ffffff)")
    text = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->", "", text, flags=re.DOTALL)
    text = re.sub(r"\s+", " ", text).replace("> <", "><")
    text = re.sub(r'\b(id="|href="#|url\(#)', rf"\1{prefix}", text)
    text = text.replace("</title>", f"</title><desc>{escape(_told(figure), quote=False)}</desc>", 1)
    return re.sub(r"<svg ", '<svg role="img" ', text, count=1).strip()


def _told(figure: Any) -> str:
    """Axes and curves in words, for readers that speak."""
    parts = []
    for axes in figure.axes:
        labels = [line.get_label() for line in axes.get_lines()]
        names = [text for text in labels if not text.startswith("_")]
        words = [
            f"{axes.get_ylabel()} against {axes.get_xlabel()}" if axes.get_xlabel() else axes.get_ylabel()
        ]
        parts.append(": ".join([words[0], ", ".join(names)] if names else words))
    return "; ".join(part for part in parts if part)


@dataclass(frozen=True, kw_only=True)
class Share:
    """How much of a difference one cause explains; ``low``, ``high`` enclose 95 %. All in SI."""

    cause: str
    amount: float
    low: float
    high: float


def share_svg(
    planned: float, shares: Sequence[Share], measured: float, *, unit: str, name: str, prefix: str = "c"
) -> str:
    """From the planned value to the measured one, cause by cause, with what stays unexplained.

    Parameters
    ----------
    planned, measured : float [SI]
    shares : sequence of Share
    unit : str
        To print in.
    name : str
        Of the quantity.
    """
    rest = measured - planned - sum(s.amount for s in shares)
    rows = [
        ("as planned", planned, None),
        *((s.cause, s.amount, s) for s in shares),
        ("unexplained rest", rest, None),
    ]
    with _style():
        figure = _figure(7.4, 0.62 + 0.42 * (len(rows) + 1))
        axes = figure.subplots()
        level = 0.0
        for k, (_, amount, share) in enumerate(rows):
            start = level if k else 0.0
            end = start + amount
            step = k > 0
            hatch = "////" if k == len(rows) - 1 else ("" if step else None)
            axes.barh(
                k,
                plain(amount, unit),
                left=convert(start, unit) if step else 0,
                height=0.56,
                color=_PAPER if hatch == "////" else ("#8fb7bf" if step else "#d9cfb8"),
                edgecolor=_INK,
                hatch=hatch,
                linewidth=0.9,
            )
            if share is not None:
                half = (plain(end - amount + share.low, unit), plain(end - amount + share.high, unit))
                axes.plot(half, (k, k), color=_INK, linewidth=1.3, marker="|", markersize=7)
            text = (
                write(amount, unit)
                if not step
                else f"{'+' if amount >= 0 else '−'}{write(abs(amount), unit)}"
            )
            axes.annotate(text, (1.01, k), xycoords=("axes fraction", "data"), va="center", fontsize=9.5)
            level = end
        axes.barh(
            len(rows), convert(measured, unit), height=0.56, color="#0d5566", edgecolor=_INK, linewidth=0.9
        )
        axes.annotate(
            write(measured, unit),
            (1.01, len(rows)),
            xycoords=("axes fraction", "data"),
            va="center",
            fontsize=9.5,
        )
        axes.set_yticks(range(len(rows) + 1), [row[0] for row in rows] + ["measured"])
        axes.invert_yaxis()
        axes.set_xlabel(f"{name} [{unit}]" if unit else name)
        axes.axvline(0, color=_INK, linewidth=0.8)
        return _written(figure, f"{name}: from planned to measured", prefix)
