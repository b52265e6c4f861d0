"""Cross-section pictures: the full one for pages, the small one for the sheet, and the one in scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from filmwright.outputs import palette, svg
from filmwright.outputs.drawing import (
    Look,
    areas,
    bar_across,
    bar_up,
    break_mark,
    clipped,
    crop,
    exaggeration_text,
    ghosts,
)
from filmwright.outputs.frame import Frame, Window, fitted, length_text
from filmwright.outputs.geometry import (
    Bodies,
    Film,
    busy_window,
    extent,
    films,
    flat_thickness,
    removed,
    sample_places,
    spans,
)

WIDTH = 960.0
_LEFT, _PLOT, _LEGEND = 46.0, 622.0, 706.0
_HEIGHT = 280.0
_DETAIL = 196.0


@dataclass(frozen=True, kw_only=True)
class Callout:
    """A place worth pointing at.

    Attributes
    ----------
    x, z : float [nm]
    text : str
        What is there, with its number, e.g. ``Al₂O₃ thinnest over the gate edge: 34.6 nm, 87 % of 40 nm``.
    detail : float
        Width of a magnified view in scale around it [nm]; 0 for none.
    """

    x: float
    z: float
    text: str
    detail: float = 0.0


@dataclass(frozen=True, kw_only=True)
class SectionPicture:
    """Everything that one section picture shows.

    Attributes
    ----------
    section : Bodies
        The wafer after the step.
    previous : Bodies or None
        Before it: what is new gets a heavy outline, what went a dashed one.
    title, subtitle : str
    kinds, symbols : mapping from material to class, and to short sign
    callouts : sequence of Callout
    cut : str
        Name of the cut.
    cut_length_nm : float
    window : Window or None
        What to show; chosen from the section when None.
    prefix : str
        Starts every id; needed when several pictures share a page.
    invented : bool
    """

    section: Bodies
    previous: Bodies | None = None
    title: str = ""
    subtitle: str = ""
    kinds: Mapping[str, str] = field(default_factory=dict)
    symbols: Mapping[str, str] = field(default_factory=dict)
    callouts: Sequence[Callout] = ()
    cut: str = ""
    cut_length_nm: float = 0.0
    window: Window | None = None
    prefix: str = ""
    invented: bool = False


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One line of the legend."""

    film: Film
    thickness: str
    state: str


def window_of(sections: Sequence[Bodies], substrate: float = 0.16, fold: bool = False) -> Window:
    """One window that shows all given sections: where things are, with the wafer body cropped.

    Parameters
    ----------
    sections : sequence of Bodies
    substrate : float
        Height of the shown part of the wafer body over that of the films.
    fold : bool
        Whether to crop a thick, even film at the bottom as well.
    """
    parts = [part for section in sections for part in films(section)]
    x0, x1 = busy_window(parts)
    _, low, _, top = extent(parts)
    floor = max(low, 0.0) if low >= 0 else 0.0
    if fold:
        floor = _fold(sections, x0, x1, top) or floor
        if floor > 0:
            return Window(x0=x0, x1=x1, z0=floor, z1=top + 0.05 * (top - floor))
    height = max(top - floor, 100.0)
    return Window(x0=x0, x1=x1, z0=max(low, -substrate * height), z1=top + 0.05 * height)


def _fold(sections: Sequence[Bodies], x0: float, x1: float, top: float) -> float:
    """Height at which a thick bottom film that is everywhere may be cropped [nm]; 0 where there is none."""
    ground = []
    for section in sections:
        stack = films(section)
        if len(stack) < 3:
            return 0.0
        thickness, low, high = spans(stack[1].rings, sample_places(x0, x1, 61))
        if not (thickness > 0).all() or float(low.max()) > float(high.min()):
            return 0.0
        ground.append((float(low.max()), float(high.min())))
    bottom, surface = max(low for low, _ in ground), min(high for _, high in ground)
    above = max(top - surface, 20.0)
    return surface - 0.35 * above if surface - bottom > 0.6 * above else 0.0


def fresh_films(now: Sequence[Film], before: Sequence[Film] | None) -> frozenset[str]:
    """Labels of the films that are new; none when nothing is known of before."""
    if before is None:
        return frozenset()
    known = {part.film for part in before}
    return frozenset(part.film for part in now if part.film not in known)


def _thickness_text(part: Film, window: Window) -> str:
    _, low, _, _ = extent([part])
    if low < window.z0 - 1.0:
        return ""
    found = flat_thickness(part, window.x0, window.x1)
    return " and ".join(length_text(each) for each in found)


def _rows(now: Sequence[Film], gone: Sequence[Film], fresh: frozenset[str], window: Window) -> list[_Row]:
    lost = {part.film for part in gone}
    rows = []
    for part in reversed(now):
        state = "new" if part.film in fresh else "part gone" if part.film in lost else ""
        rows.append(_Row(film=part, thickness=_thickness_text(part, window), state=state))
    left = {part.film for part in now}
    rows.extend(
        _Row(film=part, thickness="", state="removed") for part in reversed(gone) if part.film not in left
    )
    return rows


def _legend(rows: Sequence[_Row], look: Look, x: float, y: float) -> tuple[str, float]:
    """The legend, and the y below it."""
    parts = []
    step = 33.0 if len(rows) <= 9 else 25.0
    for row in rows:
        material = row.film.material
        drawn = palette.ink(material, look.kind(material))
        gone = row.state == "removed"
        parts.append(
            svg.element(
                "rect",
                x=x,
                y=y,
                width=30.0,
                height=19.0,
                rx=2.0,
                fill="none" if gone else f"url(#{palette.pattern_id(material, look.prefix)})",
                stroke="currentColor" if row.state else drawn.line,
                stroke_width=2.2 if row.state == "new" else 1.0,
                stroke_dasharray="4 3" if gone else None,
            )
        )
        name = look.symbol(material)
        parts.append(svg.label(x + 39, y + 14, name, 14, font_weight=600))
        if row.thickness:
            parts.append(svg.label(WIDTH - 12, y + 14, row.thickness, 14, text_anchor="end"))
        elif row.state:
            parts.append(
                svg.label(WIDTH - 12, y + 14, row.state, 12.5, text_anchor="end", font_style="italic")
            )
        words = [row.state if row.thickness else "", material if material != name else ""]
        if step > 30:
            parts.append(
                svg.label(x + 39, y + 27, " · ".join(word for word in words if word), 11.5, fill_opacity=0.85)
            )
        y += step
    return "".join(parts), y


def _symbols_inside(now: Sequence[Film], frame: Frame, look: Look) -> str:
    """Short signs written on films where there is room for them."""
    xs = sample_places(frame.x0, frame.x1, 121)
    parts = []
    for part in now:
        text = look.symbol(part.material)
        need = (7.6 * len(text) + 12) / frame.across
        thickness, low, high = spans(part.rings, xs)
        low, high = np.maximum(low, frame.z0 + 16 / frame.up), np.minimum(high, frame.z1)
        roomy = (thickness * frame.up >= 15) & (np.nan_to_num(high - low) * frame.up >= 15)
        best = _longest_run(roomy)
        if best is None or xs[best[1]] - xs[best[0]] < need:
            continue
        middle = (best[0] + best[1]) // 2
        x, y = frame.x(float(xs[middle])), frame.y(float(low[middle] + high[middle]) / 2)
        wide = 7.6 * len(text) + 8
        parts.append(
            svg.element(
                "rect",
                x=x - wide / 2,
                y=y - 7.5,
                width=wide,
                height=15.0,
                rx=3.0,
                fill="#ffffff",
                fill_opacity=0.82,
            )
            + svg.label(x, y + 4.4, text, 12.5, text_anchor="middle", font_weight=600, fill="#15191f")
        )
    return "".join(parts)


def _longest_run(flags: np.ndarray) -> tuple[int, int] | None:
    """First and last index of the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    if not len(edges):
        return None
    starts, ends = edges[::2], edges[1::2] - 1
    k = int(np.argmax(ends - starts))
    return int(starts[k]), int(ends[k])


def _badge(x: float, y: float, text: str) -> str:
    """A number in a circle."""
    return svg.element(
        "circle", cx=x, cy=y, r=9.5, fill="#ffffff", stroke="#15191f", stroke_width=1.5
    ) + svg.label(x, y + 4.4, text, 12.5, text_anchor="middle", font_weight=700, fill="#15191f")


def spread_out(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """The places nearest to the wanted ones (least squares) that keep order, a gap, and low … high."""
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    pools: list[tuple[float, int]] = []
    for rank, k in enumerate(order):
        pools.append((wanted[k] - rank * gap, 1))
        while len(pools) > 1 and pools[-2][0] >= pools[-1][0]:
            (a, n), (b, m) = pools[-2:]
            pools[-2:] = [((a * n + b * m) / (n + m), n + m)]
    ceiling = high - (len(wanted) - 1) * gap
    found = [0.0] * len(wanted)
    rank = 0
    for mean, count in pools:
        base = max(min(mean, ceiling), low)
        for _ in range(count):
            found[order[rank]] = base + rank * gap
            rank += 1
    return found


def _pointers(callouts: Sequence[Callout], frame: Frame, row: float) -> str:
    """Numbered badges in a row above the picture, each with a line to its place."""
    places = spread_out([frame.x(c.x) for c in callouts], 24, frame.left + 10, frame.left + frame.width - 10)
    parts = []
    for k, (callout, x) in enumerate(zip(callouts, places, strict=True), start=1):
        px, py = frame.x(callout.x), frame.y(callout.z)
        parts.append(svg.line(x, row + 9.5, px, py, 3.2, stroke="#ffffff", stroke_opacity=0.75))
        parts.append(svg.line(x, row + 9.5, px, py, 1.1, stroke="#15191f"))
        parts.append(
            svg.element("circle", cx=px, cy=py, r=2.6, fill="#15191f", stroke="#ffffff", stroke_width=0.8)
        )
        parts.append(_badge(x, row, str(k)))
    return "".join(parts)


def _sky(frame: Frame) -> str:
    """The paper behind a section: white in light and dark pages, so that colours stay the same."""
    return svg.element(
        "rect", x=frame.left, y=frame.top, width=frame.width, height=frame.height, fill="#ffffff"
    )


def _border(frame: Frame) -> str:
    return svg.element(
        "rect",
        x=frame.left,
        y=frame.top,
        width=frame.width,
        height=frame.height,
        fill="none",
        stroke="currentColor",
        stroke_opacity=0.35,
        stroke_width=1,
    )


def _body(
    now: Sequence[Film], gone: Sequence[Film], fresh: frozenset[str], frame: Frame, look: Look, name: str
) -> str:
    """Sky, films, ghosts and break mark, clipped to the frame; inside it the ink is dark on any page."""
    _, low, _, _ = extent(now)
    content = _sky(frame) + areas(now, frame, look, fresh) + ghosts(gone, frame, look)
    if low < frame.z0 - 1:
        content += break_mark(frame)
    return svg.element("g", clipped(content, frame, f"{look.prefix}{name}"), color="#15191f") + _border(frame)


def _strip(now: Sequence[Film], frame: Frame, look: Look, y: float) -> tuple[str, float]:
    """The same stretch in scale, and the y below it."""
    height = max(10.0, (frame.z1 - frame.z0) * frame.across + 6)
    height = min(height, 120.0)
    strip = Frame(
        x0=frame.x0,
        x1=frame.x1,
        z0=frame.z1 - height / frame.across,
        z1=frame.z1,
        left=frame.left,
        top=y,
        across=frame.across,
        up=frame.across,
    )
    content = _sky(strip) + areas(now, strip, look)
    drawn = svg.element("g", clipped(content, strip, f"{look.prefix}strip"), color="#15191f") + _border(strip)
    text = "the same stretch in scale; a film thinner than a line is drawn as a line"
    words = svg.label(frame.left, y + height + 14, text, 11.5, fill_opacity=0.85)
    return svg.element("g", drawn + words, data_view="in scale"), y + height + 22


def _details(picture: SectionPicture, now: Sequence[Film], look: Look, y: float) -> tuple[str, float]:
    """Magnified views, in scale, around callouts that ask for one; and the y below them."""
    wanted = [(k, c) for k, c in enumerate(picture.callouts, start=1) if c.detail > 0][:4]
    parts = []
    for column, (k, callout) in enumerate(wanted):
        across = callout.detail
        window = Window(
            x0=callout.x - across / 2,
            x1=callout.x + across / 2,
            z0=callout.z - 0.36 * across,
            z1=callout.z + 0.36 * across,
        )
        frame = fitted(window, _LEFT + column * (_DETAIL + 22), y, _DETAIL, 0.73 * _DETAIL)
        near = crop(now, window, 6 / frame.across)
        drawn = _sky(frame) + areas(near, frame, look)
        content = svg.element(
            "g", clipped(drawn, frame, f"{look.prefix}detail{k}"), color="#15191f"
        ) + _border(frame)
        content += svg.element(
            "circle", cx=frame.x(callout.x), cy=frame.y(callout.z), r=3.0, fill="#15191f", stroke="#fff"
        )
        content += _badge(frame.left + 15, frame.top + 15, str(k))
        content += bar_across(frame, frame.left, frame.top + frame.height + 11, 0.5 * _DETAIL, 11.5)
        content += svg.label(
            frame.left + frame.width, frame.top + frame.height + 27, "in scale", 11.5, text_anchor="end"
        )
        parts.append(svg.element("g", content, data_view="detail"))
    return "".join(parts), y + (0.72 * _DETAIL + 42 if wanted else 0)


def _notes(callouts: Sequence[Callout], x: float, y: float, columns: int) -> tuple[str, float]:
    """The callouts' words in one or two columns from (x, y), and the y below them."""
    parts = []
    wide = (WIDTH - 12 - x) / columns
    below = [y] * columns
    for k, callout in enumerate(callouts, start=1):
        side = (k - 1) % columns
        left = x + 10 + side * wide
        at = below[side]
        parts.append(_badge(left, at, str(k)))
        for text in svg.wrapped(callout.text, int((wide - 40) / 6.6)):
            parts.append(svg.label(left + 18, at + 4.6, text, 13))
            at += 17
        below[side] = at + 9
    return "".join(parts), max(below)


def _explained(picture: SectionPicture, now: Sequence[Film], look: Look, y: float) -> tuple[str, float]:
    """Details and words of the callouts, side by side where there is room; and the y below them."""
    if not picture.callouts:
        return "", y
    details, below = _details(picture, now, look, y)
    count = min(4, sum(c.detail > 0 for c in picture.callouts))
    if 0 < count <= 2:
        notes, end = _notes(picture.callouts, _LEFT + count * (_DETAIL + 22), y + 12, 1)
        return details + notes, max(below, end)
    notes, end = _notes(picture.callouts, _LEFT, below + 10, 2)
    return details + notes, end


def _heading(picture: SectionPicture, frame: Frame) -> str:
    cut = f"Cut {picture.cut}".strip() if picture.cut else "Cut"
    whole = f", {length_text(picture.cut_length_nm)} long" if picture.cut_length_nm else ""
    part = frame.x1 - frame.x0 < 0.99 * picture.cut_length_nm
    shown = f", shown {length_text(frame.x0)} to {length_text(frame.x1)}" if part else ""
    text = f"{cut}{whole}{shown} · {exaggeration_text(frame)}"
    parts = [
        svg.label(12, 26, picture.title, 20, font_weight=650),
        svg.label(12, 48, text, 13, fill_opacity=0.85),
    ]
    if picture.subtitle:
        parts.append(svg.label(WIDTH - 12, 48, picture.subtitle, 13, text_anchor="end", fill_opacity=0.85))
    if picture.invented:
        parts.append(svg.label(WIDTH - 12, 26, "invented example", 13, text_anchor="end", font_weight=600))
    return "".join(parts)


def section_svg(picture: SectionPicture) -> str:
    """A cross-section as SVG, 960 px wide: exaggerated view, strip and details in scale, legend, callouts."""
    picture = replace(picture, callouts=tuple(sorted(picture.callouts, key=lambda c: c.x)))
    now = films(picture.section)
    before = films(picture.previous) if picture.previous is not None else None
    gone = removed(before, now) if before is not None else ()
    fresh = fresh_films(now, before)
    window = picture.window or _chosen_window(picture, now, gone)
    kinds = {part.material: picture.kinds.get(part.material, "insulator") for part in (*now, *gone)}
    look = Look(kinds=kinds, symbols=picture.symbols, prefix=picture.prefix)
    top = 92.0 if picture.callouts else 66.0
    frame = fitted(window, _LEFT, top, _PLOT, _HEIGHT)
    bottom = top + frame.height
    parts = [palette.patterns(kinds, picture.prefix), _heading(picture, frame)]
    parts.append(_body(now, gone, fresh, frame, look, "main"))
    parts.append(svg.element("g", _symbols_inside(now, frame, look), color="#15191f"))
    parts.append(bar_up(frame, _LEFT - 14, bottom, 0.4 * frame.height))
    parts.append(bar_across(frame, _LEFT, bottom + 14, 0.3 * frame.width))
    legend, below = _legend(_rows(now, gone, fresh, window), look, _LEGEND, 66.0)
    parts.append(legend)
    strip, y = _strip(now, frame, look, bottom + 44)
    parts.append(strip)
    parts.append(_pointers(picture.callouts, frame, top - 16))
    explained, y = _explained(picture, now, look, y + 6)
    parts.append(explained)
    height = max(y, below) + 8
    return svg.document(
        WIDTH, height, "".join(parts), picture.title or "cross-section", svg.SANS, _told(now, window)
    )


def _chosen_window(picture: SectionPicture, now: Sequence[Film], gone: Sequence[Film]) -> Window:
    """Before and after; after alone, with headroom, when a resist was stripped: films stay readable."""
    if picture.previous is None:
        return window_of([picture.section])
    both = window_of([picture.section, picture.previous])
    stripped = any(picture.kinds.get(part.material) == "organic" for part in gone)
    if not stripped or any(picture.kinds.get(part.material) == "organic" for part in now):
        return both
    alone = window_of([picture.section])
    return replace(alone, x0=both.x0, x1=both.x1, z1=alone.z1 + 0.3 * (alone.z1 - max(alone.z0, 0.0)))


def _told(now: Sequence[Film], window: Window) -> str:
    """The stack in words, for readers that speak."""
    words = [f"{part.material} {_thickness_text(part, window)}".strip() for part in reversed(now)]
    return "From the top: " + "; ".join(words)
