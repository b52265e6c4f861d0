"""A page of all edges: what goes round every island, each kind once, with its section and what was read off it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from filmwright.outputs.frame import Window, length_text
from filmwright.outputs.geometry import busy_window, films
from filmwright.outputs.legend import Legend
from filmwright.outputs.pages import render
from filmwright.outputs.section import window_of
from filmwright.outputs.small_section import small_section_svg
from filmwright.units import convert, show

if TYPE_CHECKING:
    from filmwright.emulate import Edges, EdgeSeen
    from filmwright.wafer import Column, Section

_SIZE = (470.0, 250.0)
_SLIM = 1.2
"""A section of an edge shows at least this many times its height to each side; judgement."""

_UNHURT = 0.995
"""A film that keeps this part of its thickness across an edge is not told of."""


@dataclass(frozen=True, kw_only=True)
class EdgeCard:
    """One kind of edge on the page.

    Attributes
    ----------
    title : str
        The two columns, from the top.
    where : str
        Length on the die and where it was cut.
    picture : str
        SVG.
    facts : tuple of str
    note : str
        Where section and columns disagree.
    """

    title: str
    where: str
    picture: str
    facts: tuple[str, ...]
    note: str = ""


def edges_html(edges: Edges, legend: Legend, title: str, *, invented: bool = False) -> str:
    """The page, the longest edges first."""
    cards = [_card(seen, legend, f"e{k}-") for k, seen in enumerate(edges.seen)]
    return render("edges.html", {"cards": cards, "title": title, "invented": invented})


def _card(seen: EdgeSeen, legend: Legend, prefix: str) -> EdgeCard:
    low, high = seen.kind.sides
    x, y = seen.kind.place
    return EdgeCard(
        title=f"{_stack(high, low, legend)} | {_stack(low, high, legend)}",
        where=f"{show(seen.kind.length, 'length')} on the die, cut at x {x / 1000:.1f} µm, y {y / 1000:.1f} µm",
        picture=small_section_svg(
            seen.section,
            kinds=legend.kinds,
            symbols=legend.symbols,
            window=_window(seen.section),
            size=_SIZE,
            prefix=prefix,
        ),
        facts=tuple(_facts(seen, legend)) or ("nothing climbs, nothing stands along it",),
        note=seen.note,
    )


def _stack(column: Column, other: Column, legend: Legend) -> str:
    """The films that the other side lacks or has otherwise, from the top; the rest is told by the first common one."""
    known = {layer.film for layer in other.layers}
    own = [layer for layer in column.layers if layer.film not in known]
    shown = own or [column.top]
    return " on ".join(legend.symbols.get(layer.material, layer.material) for layer in reversed(shown))


def _window(section: Section) -> Window:
    """Where something happens, no wider than reads well."""
    whole = window_of([section], fold=True)
    x0, x1 = busy_window(films(section))
    middle, half = (x0 + x1) / 2, max(_SLIM * (whole.z1 - whole.z0), (x1 - x0) / 2)
    left, _, right, _ = section.window
    return replace(whole, x0=max(left, middle - half), x1=min(right, middle + half))


def _facts(seen: EdgeSeen, legend: Legend) -> Iterator[str]:
    def sign(material: str) -> str:
        return legend.symbols.get(material, material)

    for crossing in seen.profile.crossings:
        name = "/".join(dict.fromkeys(sign(material) for material in crossing.materials))
        flat = length_text(convert(crossing.thickness, "nm"))
        if not crossing.whole:
            yield f"{name} is interrupted (flat: {flat})"
        elif crossing.coverage < _UNHURT:
            least = length_text(convert(crossing.least, "nm"))
            yield f"{name} goes across: {least} at its narrowest, {100 * crossing.coverage:.0f} % of {flat}"
    for ending in seen.profile.endings:
        foot, top = (convert(each, "nm") for each in (ending.foot, ending.top))
        name = sign(ending.material)
        yield f"{name} ends: bottom {_behind(foot)}, top {_behind(top)} the foot of the resist"
    for fence in seen.profile.fences:
        beside = f" along {sign(fence.beside)}" if fence.beside else ", free"
        high, wide = (length_text(convert(each, "nm")) for each in (fence.height, fence.width))
        yield f"fence of {sign(fence.material)}, {high} high and {wide} wide{beside}"
    for film, height in seen.profile.ears.items():
        yield f"{film} stands up {length_text(convert(height, 'nm'))} at the edge"
    if seen.profile.voids:
        yield f"{len(seen.profile.voids)} closed gap{'s' if len(seen.profile.voids) > 1 else ''}"


def _behind(distance: float) -> str:
    return f"{length_text(abs(distance))} {'behind' if distance >= 0 else 'before'}"
