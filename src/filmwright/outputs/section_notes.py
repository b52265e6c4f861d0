"""What a section picture points at: numbered badges, magnified views in scale, words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from filmwright.outputs import svg
from filmwright.outputs.drawing import Look, areas, bar_across, border, clipped, crop, sky
from filmwright.outputs.frame import Frame, Window, fitted
from filmwright.outputs.geometry import Film
from filmwright.outputs.section_legend import WIDTH

LEFT = 46.0
_DETAIL = 180.0


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


def pointers(callouts: Sequence[Callout], frame: Frame, row: float) -> str:
    """Numbered badges in a row above the picture, each with a line to its place."""
    places = spread_out([frame.x(c.x) for c in callouts], 24, frame.left + 10, frame.left + frame.width - 10)
    parts = []
    for k, (callout, x) in enumerate(zip(callouts, places, strict=True), start=1):
        px = min(max(frame.x(callout.x), frame.left), frame.left + frame.width)
        py = min(max(frame.y(callout.z), frame.top + 3), frame.top + frame.height - 3)
        parts.append(svg.line(x, row + 9.5, px, py, 3.2, stroke="#ffffff", stroke_opacity=0.75))
        parts.append(svg.line(x, row + 9.5, px, py, 1.1, stroke="#15191f"))
        parts.append(
            svg.element("circle", cx=px, cy=py, r=2.6, fill="#15191f", stroke="#ffffff", stroke_width=0.8)
        )
        parts.append(_badge(x, row, str(k)))
    return "".join(parts)


def _details(callouts: Sequence[Callout], now: Sequence[Film], look: Look, y: float) -> tuple[str, float]:
    """Magnified views, in scale, around callouts that ask for one; and the y below them."""
    wanted = [(k, c) for k, c in enumerate(callouts, start=1) if c.detail > 0][:4]
    parts = []
    for column, (k, callout) in enumerate(wanted):
        across = callout.detail
        window = Window(
            x0=callout.x - across / 2,
            x1=callout.x + across / 2,
            z0=callout.z - 0.36 * across,
            z1=callout.z + 0.36 * across,
        )
        frame = fitted(window, LEFT + column * (_DETAIL + 16), y, _DETAIL, 0.73 * _DETAIL)
        near = crop(now, window, 6 / frame.across)
        drawn = sky(frame) + areas(near, frame, look)
        content = svg.element(
            "g", clipped(drawn, frame, f"{look.prefix}detail{k}"), color="#15191f"
        ) + border(frame)
        content += svg.element(
            "circle", cx=frame.x(callout.x), cy=frame.y(callout.z), r=3.0, fill="#15191f", stroke="#fff"
        )
        content += _badge(frame.left + 15, frame.top + 15, str(k))
        content += bar_across(frame, frame.left, frame.top + frame.height + 11, 0.5 * _DETAIL, 12.5)
        content += svg.label(
            frame.left + frame.width, frame.top + frame.height + 27, "in scale", 12.5, text_anchor="end"
        )
        parts.append(svg.element("g", content, data_view="detail"))
    return "".join(parts), y + (0.72 * _DETAIL + 42 if wanted else 0)


def _notes(callouts: Sequence[Callout], x: float, y: float, columns: int) -> tuple[str, float]:
    """The callouts' words in one or two columns from (x, y), and the y below them."""
    parts = []
    wide = (WIDTH - 12 - x) / columns
    for first in range(0, len(callouts), columns):
        below = y
        for side, callout in enumerate(callouts[first : first + columns]):
            left, at = x + 10 + side * wide, y
            parts.append(_badge(left, at, str(first + side + 1)))
            for text in svg.fitted_words(callout.text, wide - 34, 13.5):
                parts.append(svg.label(left + 18, at + 4.6, text, 13.5))
                at += 17
            below = max(below, at)
        y = below + 9
    return "".join(parts), y


def explained(callouts: Sequence[Callout], now: Sequence[Film], look: Look, y: float) -> tuple[str, float]:
    """Details and words of the callouts, side by side where there is room; and the y below them."""
    if not callouts:
        return "", y
    details, below = _details(callouts, now, look, y)
    count = min(4, sum(c.detail > 0 for c in callouts))
    if 0 < count <= 2:
        notes, end = _notes(callouts, LEFT + count * (_DETAIL + 16), y + 12, 1)
        return details + notes, max(below, end)
    notes, end = _notes(callouts, LEFT, below + 10, 2)
    return details + notes, end
