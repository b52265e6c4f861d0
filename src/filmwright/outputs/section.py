"""Cross-section pictures: the full one for pages, the small one for the sheet, and the one in scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from filmwright.outputs import palette, svg
from filmwright.outputs.drawing import (
    THIN_PX,
    Look,
    areas,
    bar_across,
    bar_up,
    border,
    break_mark,
    clipped,
    exaggeration_text,
    ghosts,
    sky,
    thinnest_px,
)
from filmwright.outputs.frame import Frame, Window, fitted, length_text
from filmwright.outputs.geometry import (
    Bodies,
    Film,
    busy_window,
    extent,
    films,
    removed,
    sample_places,
    spans,
)
from filmwright.outputs.section_legend import WIDTH, legend_block, legend_rows, symbols_inside, told
from filmwright.outputs.section_notes import LEFT, Callout, explained, pointers

_PLOT, _LEGEND = 540.0, 606.0
_HEIGHT = 270.0
_INVENTED = "invented example"

_ERODED = 0.3
"""A resist that loses no more than this part of its area is taken to stand; judgement."""

FLAT_ASPECT = 60.0
"""Of a stack without any edge, a stretch this many times as long as it is high is shown."""


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
    left, low, right, top = extent(parts)
    floor = max(low, 0.0)
    if (x0, x1) == (left, right):
        half = min((right - left) / 2, FLAT_ASPECT * max(top - floor, 100.0) / 2)
        x0, x1 = (left + right) / 2 - half, (left + right) / 2 + half
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
        if len(stack) < 2:
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


def _body(
    now: Sequence[Film], gone: Sequence[Film], fresh: frozenset[str], frame: Frame, look: Look, name: str
) -> str:
    """Sky, films, ghosts and break mark, clipped to the frame; inside it the ink is dark on any page."""
    _, low, _, _ = extent(now)
    content = sky(frame) + areas(now, frame, look, fresh) + ghosts(gone, frame, look)
    if low < frame.z0 - 1:
        content += break_mark(frame)
    if extent(now)[3] > frame.z1 + 1:
        content += break_mark(frame, at_top=True)
    return svg.element("g", clipped(content, frame, f"{look.prefix}{name}"), color="#15191f") + border(frame)


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
    content = sky(strip) + areas(now, strip, look)
    drawn = svg.element("g", clipped(content, strip, f"{look.prefix}strip"), color="#15191f") + border(strip)
    text = "the same stretch in scale; a film thinner than a line is drawn as a line"
    words = svg.label(frame.left, y + height + 15, text, 12.5, fill_opacity=0.85)
    return svg.element("g", drawn + words, data_view="in scale"), y + height + 22


def _heading(picture: SectionPicture, frame: Frame, lines: Sequence[str]) -> str:
    cut = f"Cut {picture.cut}".strip() if picture.cut else "Cut"
    whole = f", {length_text(picture.cut_length_nm)} long" if picture.cut_length_nm else ""
    part = frame.x1 - frame.x0 < 0.99 * picture.cut_length_nm
    shown = f", shown {length_text(frame.x0)} to {length_text(frame.x1)}" if part else ""
    text = f"{cut}{whole}{shown} · {exaggeration_text(frame)}"
    y = 26.0 + 22.0 * (len(lines) - 1)
    parts = [svg.label(12, 26 + 22 * k, line, 18, font_weight=700) for k, line in enumerate(lines)]
    parts.append(svg.label(12, y + 22, text, 13.5, fill_opacity=0.85))
    right = " · ".join(each for each in (picture.subtitle, _INVENTED if picture.invented else "") if each)
    if right:
        parts.append(svg.label(WIDTH - 12, y + 22, right, 13.5, text_anchor="end", font_weight=600))
    return "".join(parts)


def _as_lines(now: Sequence[Film], frame: Frame, look: Look) -> str:
    """Which films are drawn thicker than they are, as lines, so that they are seen at all."""
    thin = [look.symbol(part.material) for part in reversed(now) if thinnest_px(part, frame) < THIN_PX]
    if not thin:
        return ""
    text = f"drawn as a line, thicker than it is: {', '.join(dict.fromkeys(thin))}"
    return svg.label(frame.left + frame.width, frame.top + frame.height + 31, text, 12.5, text_anchor="end")


def section_svg(picture: SectionPicture) -> str:
    """A cross-section as SVG, 840 px wide: exaggerated view, strip and details in scale, legend, callouts."""
    picture = replace(picture, callouts=tuple(sorted(picture.callouts, key=lambda c: c.x)))
    now = films(picture.section)
    before = films(picture.previous) if picture.previous is not None else None
    gone = removed(before, now) if before is not None else ()
    fresh = fresh_films(now, before)
    window = picture.window or _widened(_chosen_window(picture, now, gone), now)
    kinds = {part.material: picture.kinds.get(part.material, "insulator") for part in (*now, *gone)}
    look = Look(kinds=kinds, symbols=picture.symbols, prefix=picture.prefix)
    lines = svg.fitted_words(picture.title, WIDTH - 24, 18) or [""]
    head = 66.0 + 22 * (len(lines) - 1)
    top = head + (26 if picture.callouts else 0)
    frame = fitted(window, LEFT, top, _PLOT, _HEIGHT)
    bottom = top + frame.height
    parts = [palette.patterns(kinds, picture.prefix), _heading(picture, frame, lines)]
    parts.append(_body(now, gone, fresh, frame, look, "main"))
    parts.append(svg.element("g", symbols_inside(now, frame, look), color="#15191f"))
    parts.append(bar_up(frame, LEFT - 14, bottom, 0.4 * frame.height, 12.5))
    parts.append(bar_across(frame, LEFT, bottom + 14, 0.3 * frame.width, 12.5))
    parts.append(_as_lines(now, frame, look))
    rows = legend_rows(now, gone, fresh, window)
    legend, below = legend_block(rows, look, _LEGEND, head)
    parts.append(legend)
    strip, y = ("", bottom + 36) if frame.exaggeration == 1 else _strip(now, frame, look, bottom + 46)
    parts.append(strip)
    parts.append(pointers(picture.callouts, frame, top - 16))
    notes, y = explained(picture.callouts, now, look, max(y + 6, below if picture.callouts else 0))
    parts.append(notes)
    height = max(y, below) + 8
    return svg.document(WIDTH, height, "".join(parts), picture.title or "cross-section", svg.SANS, told(rows))


def _chosen_window(picture: SectionPicture, now: Sequence[Film], gone: Sequence[Film]) -> Window:
    """Before and after; after alone, with headroom, when a resist was stripped: films stay readable."""
    if picture.previous is None:
        return window_of([picture.section])
    both = step_window(picture.section, picture.previous, picture.kinds)
    stripped = any(picture.kinds.get(part.material) == "organic" for part in gone)
    if not stripped or any(picture.kinds.get(part.material) == "organic" for part in now):
        return both
    alone = window_of([picture.section])
    return replace(alone, x0=both.x0, x1=both.x1, z1=alone.z1 + 0.3 * (alone.z1 - max(alone.z0, 0.0)))


def _widened(window: Window, now: Sequence[Film]) -> Window:
    """A window that is too high for the plot shows more of the cut instead of standing narrow in it."""
    x0, _, x1, _ = extent(now)
    wanted = (window.z1 - window.z0) * _PLOT / _HEIGHT
    room = (wanted - (window.x1 - window.x0)) / 2
    return replace(window, x0=max(x0, window.x0 - room), x1=min(x1, window.x1 + room)) if room > 0 else window


@dataclass(frozen=True)
class _Bare:
    """A section without its organic layers."""

    bodies: tuple[Any, ...]


def step_window(section: Bodies, previous: Bodies, kinds: Mapping[str, str], *, fold: bool = False) -> Window:
    """What to show of a step: before and after, without most of a resist that it leaves standing."""
    both = window_of([section, previous], fold=fold)
    organic = [[b for b in each.bodies if kinds.get(b.material) == "organic"] for each in (previous, section)]
    areas = [sum(body.shape.area for body in bodies) for bodies in organic]
    if min(areas) <= 0 or abs(areas[0] - areas[1]) > _ERODED * max(areas):
        return both
    bare = [
        _Bare(tuple(b for b in each.bodies if kinds.get(b.material) != "organic"))
        for each in (section, previous)
    ]
    low = window_of(bare, fold=fold)
    top = low.z1 + 0.4 * (low.z1 - max(low.z0, 0.0))
    return replace(low, x0=both.x0, x1=both.x1, z1=min(both.z1, top))
