"""A figure on paper: vector, one journal column wide, letters of 8 pt; the same painter draws what pages show at rest."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from html import escape
from textwrap import fill
from typing import Any

import numpy as np

from filmwright.outputs.plot import DASHES, INKS, Dots, Panel, Plot, Series
from filmwright.units import convert, to_si

INK, PAPER = "#1b1f24", "#ffffff"
COLUMN = to_si(86, "mm")
"""Width of one column of a journal [m]."""

LETTERS = 8.0
"""Size of letters in print [pt]."""

NAMED = 40
"""So many values are written beside their places on a map; of more, size and colour alone tell them apart."""

CROWD = 60
"""Points of a curve from which their marks are drawn small."""

_SHAPES = {"circle": "o", "square": "s", "diamond": "D", "triangle": "^", "cross": "P", "x": "x", "ring": "o"}
KINDS = ("svg", "pdf", "png")
"""How a figure may be printed."""

_SHORT, _LONG = 26, 58
"""Letters of a name up to which two stand side by side below a panel, and from which one is broken."""


def panel_svg(panel: Panel, *, prefix: str, title: str = "") -> str:
    """One panel as an SVG element for a page: its ink follows the page, its letters are outlines.

    Parameters
    ----------
    panel : Panel
    prefix : str
        Before every id, so that two pictures of a page share none.
    title : str
        For readers that speak.
    """
    with _style(10.5):
        rows = _legend_rows(panel, ())
        figure = _figure(5.4, (4.5 if panel.equal or panel.matrix else 3.7) + 0.2 * rows)
        _draw(figure, panel)
        text = _svg(figure)
    return _for_page(text, prefix, title or panel.title, panel.told)


def printed_plots(plots: Sequence[Plot], kind: str) -> tuple[bytes, ...]:
    """Figures for print, each with its panels below one another in one column of 86 mm.

    Parameters
    ----------
    plots : sequence of Plot
    kind : str
        ``svg``, ``pdf`` or ``png`` (600 dpi).

    Returns
    -------
    tuple of bytes
        One file of as many pages for PDF, one file each for the others.
    """
    if kind not in KINDS:
        raise ValueError(f"a figure is printed as {', '.join(KINDS)}, not as {kind or 'nothing'}")
    with _style(LETTERS):
        return (_pdf(plots),) if kind == "pdf" else tuple(_picture(plot, kind) for plot in plots)


def _pdf(plots: Sequence[Plot]) -> bytes:
    from matplotlib.backends.backend_pdf import PdfPages

    buffer = io.BytesIO()
    about = {"Title": plots[0].title if plots else "", "CreationDate": None, "Producer": None}
    with PdfPages(buffer, metadata=about) as pages:
        for plot in plots:
            pages.savefig(_printed(plot))
    return buffer.getvalue()


def _picture(plot: Plot, kind: str) -> bytes:
    buffer = io.BytesIO()
    if kind == "png":
        _printed(plot).savefig(buffer, format="png", dpi=600, facecolor=PAPER, metadata={"Software": None})
    else:
        about = {"Date": None, "Creator": None, "Title": plot.title, "Description": plot.told}
        _printed(plot).savefig(buffer, format="svg", metadata=about)
    return buffer.getvalue()


def _printed(plot: Plot) -> Any:
    """Panels below one another; what a panel above has named is not named again."""
    width = convert(COLUMN, "mm") / 25.4
    known = [tuple(_names_of(panel)) for panel in plot.panels]
    before = [sum(known[:at], ()) for at in range(len(known))]
    heights = [
        width * (0.9 if panel.equal or panel.matrix else 0.66) + 0.15 * _legend_rows(panel, named)
        for panel, named in zip(plot.panels, before, strict=True)
    ]
    figure = _figure(width, sum(heights))
    holders = figure.subfigures(len(plot.panels), 1, squeeze=False, height_ratios=heights)[:, 0]
    for letter, holder, panel, named in zip("abcdefghijkl", holders, plot.panels, before, strict=False):
        words = f"({letter}) {panel.title}" if len(plot.panels) > 1 else panel.title
        _draw(holder, replace(panel, title=words), named)
    return figure


def _names_of(panel: Panel) -> list[str]:
    """Everything that the legend of a panel names."""
    labels = [each.label for each in panel.series] + [each.label for each in panel.tangents]
    labels += [each.label for each in panel.levels]
    return list(dict.fromkeys(label for label in labels if label))


def _columns(labels: Sequence[str]) -> int:
    return 2 if max(map(len, labels), default=0) <= _SHORT else 1


def _legend_rows(panel: Panel, named: Sequence[str]) -> int:
    labels = [label for label in _names_of(panel) if label not in named]
    return -(-len(labels) // _columns(labels))


@contextmanager
def _style(size: float) -> Iterator[None]:
    """Our look: calm axes at the left and below, outlines for letters in SVG, whole letters in PDF, fixed ids."""
    import matplotlib

    thin = 0.6 if size < 9 else 0.9
    style: Any = {
        "svg.fonttype": "path",
        "svg.hashsalt": "filmwright",
        "pdf.fonttype": 42,
        "font.family": "DejaVu Sans",
        "font.size": size,
        "axes.labelsize": size,
        "axes.titlesize": size,
        "axes.titlelocation": "left",
        "xtick.labelsize": size - 0.5,
        "ytick.labelsize": size - 0.5,
        "legend.fontsize": size - 1,
        "legend.frameon": False,
        "legend.handlelength": 2.6,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.linewidth": thin,
        "xtick.major.width": thin,
        "ytick.major.width": thin,
        "axes.facecolor": "none",
        "figure.facecolor": "none",
        "lines.linewidth": 1.1 if size < 9 else 1.7,
        "lines.scale_dashes": True,
        "axes.unicode_minus": True,
        "axes.formatter.limits": (-4, 5),
        "axes.formatter.use_mathtext": True,
        "mathtext.fontset": "dejavusans",
    }
    with matplotlib.rc_context(style):
        yield


def _figure(width: float, height: float) -> Any:
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasSVG(figure)
    return figure


def _svg(figure: Any) -> str:
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    return buffer.getvalue()


def _for_page(text: str, prefix: str, title: str, told: str) -> str:
    """The mark-up of a figure made fit for a page: no ids in common, colours that follow light and dark."""
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->", "", text, flags=re.DOTALL)
    text = text.replace(INK, "currentColor").replace(PAPER, "var(--card, #ffffff)")
    for number, ink in enumerate(INKS):
        text = text.replace(ink, f"var(--ink-{number}, {ink})")
    text = re.sub(r"\s+", " ", text).replace("> <", "><")
    text = re.sub(r'\b(id="|href="#|url\(#)', rf"\1{prefix}", text)
    head = f"<title>{escape(title, quote=False)}</title><desc>{escape(told, quote=False)}</desc>"
    return re.sub(r"<svg ([^>]*)>", rf'<svg role="img" \1>{_safe(head)}', text, count=1).strip()


def _safe(text: str) -> str:
    return text.replace("\\", r"\\")


def _draw(holder: Any, panel: Panel, named: Sequence[str] = ()) -> None:
    """Everything of a panel, what lies behind first; ``named`` is left out of the legend."""
    axes = holder.subplots()
    _set_axes(axes, panel)
    for span in panel.spans:
        ink = INKS[span.ink % len(INKS)]
        axes.axvspan(span.low, span.high, color=ink, alpha=0.10, linewidth=0, zorder=0.5)
        for end in (span.low, span.high):
            axes.axvline(end, color=ink, linewidth=0.5, linestyle=(0, (2, 2)), alpha=0.8)
    if panel.matrix is not None:
        _draw_matrix(axes, panel)
    for outline in panel.outlines:
        axes.plot(outline.x, outline.y, color=INK, linewidth=1.8 if outline.thick else 0.9)
    for box in panel.boxes:
        _draw_box(axes, box)
    for series in panel.series:
        _draw_series(axes, series)
    if panel.surface is not None:
        _draw_surface(axes, panel)
    if panel.dots is not None:
        _draw_dots(axes, panel.dots)
    _draw_readings(axes, panel)
    if panel.title:
        axes.set_title(panel.title, loc="left")
    if panel.note:
        width = 62 if not panel.title else 40
        axes.annotate(
            fill(panel.note, width), (1.0, 1.0), xycoords="axes fraction", ha="right", va="bottom",
            fontsize="small", xytext=(0, 2), textcoords="offset points",
        )  # fmt: skip
    _legend(holder, axes, named)


def _set_axes(axes: Any, panel: Panel) -> None:
    for which, axis in (("x", panel.x), ("y", panel.y)):
        if axis.scale != "names":
            getattr(axes, f"set_{which}label")(axis.text)
        if axis.scale == "log":
            getattr(axes, f"set_{which}scale")("log")
            own = getattr(axes, f"{which}axis")
            own.set_major_formatter(_power)
            own.set_minor_formatter("")
        if axis.low is not None or axis.high is not None:
            getattr(axes, f"set_{which}lim")(axis.low, axis.high)
    if panel.equal:
        axes.set_aspect("equal")
    elif panel.matrix is None:
        axes.grid(visible=True, color=INK, alpha=0.10, linewidth=0.5)
    _set_names(axes, panel)


def _power(value: float, _: int) -> str:
    """A decade as 10⁻⁹, in plain letters."""
    power = round(float(np.log10(value))) if value > 0 else 0
    return "10" + str(power).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))


def _set_names(axes: Any, panel: Panel) -> None:
    if panel.x.names:
        long = max(map(len, panel.x.names)) * len(panel.x.names) > 46
        axes.set_xticks(range(len(panel.x.names)), panel.x.names, rotation=40 if long else 0)
        if long:
            for text in axes.get_xticklabels():
                text.set(ha="right", rotation_mode="anchor")
    if panel.y.names:
        axes.set_yticks(range(len(panel.y.names)), panel.y.names)
        axes.set_ylim(len(panel.y.names) - 0.4, -0.6)


def dashes_of(number: int) -> Any:
    """One of our dashes as the painter wants it."""
    pattern = DASHES[number % len(DASHES)]
    return (0, pattern) if pattern else "-"


def _draw_series(axes: Any, series: Series) -> None:
    ink = INKS[series.ink % len(INKS)]
    hollow = series.mark == "ring"
    crowded = len(series.x) > CROWD
    width = 0.65 if series.thin else 1.0
    import matplotlib

    look = {
        "color": ink,
        "linestyle": dashes_of(series.dash) if series.line else "none",
        "linewidth": width * matplotlib.rcParams["lines.linewidth"],
        "marker": _SHAPES[series.mark] if series.mark else None,
        "markersize": 1.8 if crowded else 3.6 if series.thin else 4.4,
        "markerfacecolor": "none" if hollow else ink,
        "markeredgewidth": 0.5 if crowded else 0.9,
        "label": series.label or "_",
    }
    if series.low is not None and series.high is not None:
        if series.line:
            axes.fill_between(series.x, series.low, series.high, color=ink, alpha=0.16, linewidth=0)
        else:
            axes.vlines(series.x, series.low, series.high, color=ink, linewidth=0.9)
    axes.plot(series.x, series.y, **look)


def _draw_readings(axes: Any, panel: Panel) -> None:
    """Levels, tangents with their feet, and the arrows of direction."""
    for level in panel.levels:
        line = axes.axhline if level.across == "y" else axes.axvline
        line(level.value, color=INK, linewidth=0.8, linestyle=(0, (1, 2)), label=level.label or "_")
    for tangent in panel.tangents:
        (x0, y0), (x1, y1) = tangent.start, tangent.end
        axes.plot(
            (x0, x1), (y0, y1), color=INK, linewidth=0.8, linestyle=(0, (4, 2)), label=tangent.label or "_"
        )
        if tangent.foot is not None:
            axes.plot(*tangent.foot, marker="|", color=INK, markersize=9, markeredgewidth=1.1, clip_on=False)
    for arrow in panel.arrows:
        axes.annotate(
            "", xy=arrow.head, xytext=arrow.tail,
            arrowprops={"arrowstyle": "-|>,head_width=0.28,head_length=0.55", "color": INKS[arrow.ink % len(INKS)],
                        "linewidth": 1.0, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip


def _draw_box(axes: Any, box: Any) -> None:
    half = 0.26
    axes.fill_between(
        (box.place - half, box.place + half),
        box.quarter,
        box.three_quarters,
        color=INK,
        alpha=0.07,
        linewidth=0,
    )
    rim = [(-half, box.quarter), (half, box.quarter), (half, box.three_quarters), (-half, box.three_quarters)]
    x, y = zip(*[*rim, rim[0]], strict=True)
    axes.plot(np.add(x, box.place), y, color=INK, linewidth=0.8)
    axes.plot((box.place - half, box.place + half), (box.median,) * 2, color=INK, linewidth=1.8)
    for end, side in ((box.low, box.quarter), (box.high, box.three_quarters)):
        axes.plot((box.place,) * 2, (side, end), color=INK, linewidth=0.8)


def _draw_matrix(axes: Any, panel: Panel) -> None:
    matrix = panel.matrix
    assert matrix is not None  # only asked for panels that have one
    axes.imshow(matrix.values, cmap="PuOr", vmin=-1, vmax=1, aspect="equal")
    for row, column in np.ndindex(matrix.values.shape):
        value = matrix.values[row, column]
        text = "–" if np.isnan(value) else f"{value:.2f}".replace("-", "−")
        dark = not np.isnan(value) and abs(value) > 0.65
        # On a cell of the print's own colour the ink of the page would vanish in the dark.
        axes.text(
            column,
            row,
            text,
            ha="center",
            va="center",
            fontsize="small",
            color="#f7f7f7" if dark else "#1a1e23",
        )
    for side in axes.spines.values():
        side.set_visible(False)
    axes.tick_params(length=0)


def _draw_surface(axes: Any, panel: Panel) -> None:
    surface = panel.surface
    assert surface is not None  # only asked for panels that have one
    lines = axes.contour(surface.x, surface.y, surface.z, levels=6, colors=INK, linewidths=0.5, alpha=0.6)
    axes.clabel(lines, fontsize="xx-small", fmt="%.3g")


def _draw_dots(axes: Any, dots: Dots) -> None:
    known = np.isfinite(dots.value)
    few = len(dots.x) <= NAMED
    if known.any():
        low, high = float(dots.value[known].min()), float(dots.value[known].max())
        share = (dots.value[known] - low) / (high - low) if high > low else np.full(int(known.sum()), 0.5)
        drawn = axes.scatter(
            dots.x[known], dots.y[known], c=dots.value[known], cmap="cividis", s=18 + 46 * share, marker="s",
            edgecolors=INK, linewidths=0.5, zorder=3,
        )  # fmt: skip
        axes.figure.colorbar(drawn, ax=axes, label=dots.text, shrink=0.8, pad=0.02)
    axes.scatter(dots.x[~known], dots.y[~known], c=INK, marker="x", s=30, linewidths=1.3, zorder=3)
    away = np.asarray(dots.outlier, dtype=bool)
    axes.scatter(
        dots.x[away],
        dots.y[away],
        facecolors="none",
        edgecolors=INK,
        marker="o",
        s=150,
        linewidths=1.0,
        zorder=4,
    )
    for at in range(len(dots.x)):
        words = [f"{dots.value[at]:.3g}".replace("-", "−")] if few and known[at] else []
        words += [dots.names[at]] if away[at] and dots.names[at] else []
        if words:
            axes.annotate(
                "\n".join(words), (dots.x[at], dots.y[at]), xytext=(0, -6), textcoords="offset points", ha="center",
                va="top", fontsize="xx-small", zorder=5,
            )  # fmt: skip


def _legend(holder: Any, axes: Any, named: Sequence[str]) -> None:
    """Below the axes, where it hides nothing."""
    lines = {line.get_label(): line for line in axes.get_lines() if not line.get_label().startswith("_")}
    lines = {label: line for label, line in lines.items() if label not in named}
    if lines:
        labels = [fill(label, _LONG) for label in lines]
        holder.legend(
            lines.values(), labels, loc="outside lower left", ncols=_columns(labels), columnspacing=1.2,
            handletextpad=0.6, labelspacing=0.35, borderpad=0.2,
        )  # fmt: skip
