"""Plots as SVG: curves, wafer maps, comparisons. Axes carry units; the same input gives the same bytes."""

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

from filmwright.units import DIMENSIONS, convert, plain, show, write

FloatArray = NDArray[np.float64]
Origin = Literal["measured", "planned", "as run"]

_INK, _PAPER = "#010203", "#fdfefd"
_STYLE: dict[str, dict[str, Any]] = {
    "measured": {"color": "#0d5566", "linestyle": "-", "linewidth": 1.7},
    "planned": {"color": "#b5701a", "linestyle": (0, (6, 2.5)), "linewidth": 1.7},
    "as run": {"color": "#a2417f", "linestyle": (0, (6, 2, 1.2, 2)), "linewidth": 1.7},
}
_FAMILY = ("#0d5566", "#b5701a", "#a2417f", "#4a6fa8", "#6b6b2a", "#7a4030", "#2f2f2f")
_DASHES: tuple[Any, ...] = (
    "-",
    (0, (6, 2)),
    (0, (1.2, 1.8)),
    (0, (6, 2, 1.2, 2)),
    (0, (9, 2)),
    (0, (3, 2)),
    "-",
)


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


def _scale(values: Sequence[FloatArray], dimension: str) -> str:
    """The unit in which the largest value reads best."""
    finite = [np.abs(v[np.isfinite(v)]) for v in values if len(v)]
    largest = max((float(v.max()) for v in finite if len(v)), default=0.0)
    return show(largest, dimension).split(" ")[-1] if largest else DIMENSIONS[dimension].shown[-1]


def _in_unit(values: FloatArray, unit: str) -> FloatArray:
    return values * plain(1.0, unit)


def transfer_svg(curves: Sequence[Curve], *, title: str = "", prefix: str = "t") -> str:
    """Transfer curves, drain current against gate voltage: linear on the left, logarithmic on the right.

    The gate current is drawn dotted in the logarithmic half.
    """
    unit = _scale([c.current for c in curves], "current")
    with _style():
        figure = _figure(8.6, 3.5)
        linear, log = figure.subplots(1, 2)
        single = len({c.origin for c in curves}) == 1
        for k, curve in enumerate(curves):
            look = _look(curve, k, single)
            linear.plot(curve.voltage, _in_unit(curve.current, unit), label=curve.label, **look)
            log.semilogy(curve.voltage, _positive(curve.current), **look)
            if curve.gate_current is not None:
                log.semilogy(
                    curve.voltage,
                    _positive(curve.gate_current),
                    color=look["color"],
                    linestyle=":",
                    linewidth=1.0,
                )
        linear.set_ylabel(f"drain current [{unit}]")
        log.set_ylabel("|drain current| [A]")
        linear.axhline(0, color=_INK, linewidth=0.5)
        if any(c.gate_current is not None for c in curves):
            log.set_title("dotted: gate current", fontsize=9.5, loc="right")
        for axes in (linear, log):
            axes.set_xlabel("gate voltage [V]")
            axes.grid(visible=True, color=_INK, alpha=0.12, linewidth=0.6)
        _named(linear)
        linear.set_title(title)
        return _written(figure, title or "transfer curves", prefix)


def _look(curve: Curve, k: int, single: bool) -> dict[str, Any]:
    if not single:
        return dict(_STYLE[curve.origin])
    return {"color": _FAMILY[k % len(_FAMILY)], "linestyle": _DASHES[k % len(_DASHES)], "linewidth": 1.6}


def _named(axes: Any) -> None:
    """A legend with each label once; none without labels."""
    lines = {line.get_label(): line for line in axes.get_lines() if not line.get_label().startswith("_")}
    if lines:
        axes.legend(lines.values(), lines.keys(), loc="best")


def _positive(values: FloatArray) -> FloatArray:
    size = np.abs(values)
    return np.where(size > 0, size, np.nan)


def output_svg(curves: Sequence[Curve], *, title: str = "", prefix: str = "o") -> str:
    """Output curves: drain current against drain voltage, one line per gate voltage, named in its label."""
    unit = _scale([c.current for c in curves], "current")
    with _style():
        figure = _figure(4.9, 3.5)
        axes = figure.subplots()
        single = len({c.origin for c in curves}) == 1
        for k, curve in enumerate(curves):
            axes.plot(
                curve.voltage, _in_unit(curve.current, unit), label=curve.label, **_look(curve, k, single)
            )
        axes.set_xlabel("drain voltage [V]")
        axes.set_ylabel(f"drain current [{unit}]")
        axes.axhline(0, color=_INK, linewidth=0.5)
        axes.grid(visible=True, color=_INK, alpha=0.12, linewidth=0.6)
        _named(axes)
        axes.set_title(title)
        return _written(figure, title or "output curves", prefix)


def wafer_map_svg(
    places: Sequence[Place],
    *,
    diameter: float,
    dimension: str,
    title: str = "",
    prefix: str = "w",
    die: bool = False,
) -> str:
    """A value over the wafer or one die; a device without a value is a cross, never left out.

    Parameters
    ----------
    places : sequence of Place
    diameter : float [m]
        Of the wafer, or the side of the die.
    dimension : str
        A key of :data:`filmwright.units.DIMENSIONS`.
    die : bool
        One die, drawn as a square, instead of a wafer with its flat.
    """
    good = [p for p in places if p.value is not None and np.isfinite(p.value)]
    values = np.array([p.value for p in good], dtype=float)
    unit = _scale([values], dimension)
    with _style():
        figure = _figure(4.9, 4.1)
        axes = figure.subplots()
        radius = convert(diameter / 2, "mm")
        _outline(axes, radius, die)
        if good:
            dots = axes.scatter(
                [convert(p.x, "mm") for p in good],
                [convert(p.y, "mm") for p in good],
                c=_in_unit(values, unit),
                cmap="cividis",
                s=46,
                marker="s",
                edgecolors=_INK,
                linewidths=0.5,
            )
            figure.colorbar(dots, ax=axes, label=f"{title} [{unit}]" if unit else title, shrink=0.82)
        bad = [p for p in places if p.value is None or not np.isfinite(p.value)]
        axes.scatter(
            [convert(p.x, "mm") for p in bad],
            [convert(p.y, "mm") for p in bad],
            c=_INK,
            marker="x",
            s=40,
            linewidths=1.6,
        )
        axes.set(aspect="equal", xlabel="x [mm]" if die else "x [mm], flat down", ylabel="y [mm]")
        axes.set_title(f"{len(good)} of {len(places)} with a value" + (", × none" if bad else ""))
        return _written(figure, title or "wafer map", prefix)


def _outline(axes: Any, half: float, die: bool) -> None:
    """A square die, or a wafer with its flat; ``half`` is half its size in the unit of the axes."""
    from matplotlib.patches import Circle, Rectangle

    if die:
        axes.add_patch(
            Rectangle((-half, -half), 2 * half, 2 * half, fill=False, edgecolor=_INK, linewidth=1.1)
        )
        return
    axes.add_patch(Circle((0, 0), half, fill=False, edgecolor=_INK, linewidth=1.1))
    axes.plot([-0.28 * half, 0.28 * half], [-0.96 * half] * 2, color=_INK, linewidth=2.2)


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
