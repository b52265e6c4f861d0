"""What a section picture should point at, with its number: each kind of place in one small function.

Looked for are torn and bridged metal, sealed voids, residues, ears and fences at an edge, undercut, the bite into a film below,
necks of a film over a step, films parted at a resist, and how the edges lean.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from filmwright.outputs.edge_shapes import Flank, bites, flank, level_thickness, neck
from filmwright.outputs.frame import length_text
from filmwright.outputs.geometry import Film, busy_window, films, removed
from filmwright.outputs.legend import Legend
from filmwright.outputs.section_notes import Callout

if TYPE_CHECKING:
    from filmwright.wafer import Section

MOST = 5
"""More callouts than this hide the picture."""

THIN_RATIO = 0.97
"""A film that keeps more than this part of its thickness over a step is not pointed at; judgement."""

EAR = 0.2
"""An edge that stands up by more than this part of the film's thickness is an ear; judgement."""

_ROOM_NM = 60.0
_FENCE = 0.6
"""A rest that is higher than this part of its width is a fence; judgement."""
_SKIN_NM = 0.5
"""A film that lost less is not told of."""
_MOVED_NM = 5.0
_VOID_NM2 = 20.0
"""A smaller void is rounding of the shapes, not of the wafer; judgement."""
_WORDS = {
    "torn": "torn off, a ragged edge stays",
    "bridged": "held by a bridge, not lifted",
    "sealed": "void sealed in",
}


def callouts_of(section: Section, previous: Section | None, legend: Legend) -> tuple[Callout, ...]:
    """Places worth pointing at after a step, the most telling first.

    Parameters
    ----------
    section, previous : Section
        After and before the step; without ``previous`` voids, rests, necks and ears of all films are looked for.
    legend : Legend
    """
    if previous is None:
        found = [*_voids(section), *_residues(section, None, legend), *_ears(section, None, legend)]
        return tuple([*found, *_necks(section, None, legend)][:MOST])
    found = [
        *_events(section, legend),
        *_residues(section, previous, legend),
        *_ears(section, previous, legend),
        *_parted(section, previous, legend),
        *_undercuts(section, previous, legend),
        *_necks(section, previous, legend),
        *_bitten(section, previous, legend),
    ]
    found += _edges(section, previous, legend, [each.x for each in found if each.detail])
    return tuple(found[:MOST])


def _sign(part: Film, legend: Legend) -> str:
    return legend.symbols.get(part.material, part.material)


def _inorganic(parts: Iterable[Film], legend: Legend) -> Iterable[Film]:
    return (part for part in parts if legend.kinds.get(part.material) not in ("organic", "substrate"))


def _touched(section: Section, previous: Section | None, legend: Legend) -> list[Film]:
    """Films that the step put down, or whose ends it moved; every one when nothing is known of before."""
    was = {} if previous is None else {part.film: _ends(part) for part in films(previous)}
    return [
        part
        for part in _inorganic(films(section), legend)
        if part.film not in was or _moved(was[part.film], _ends(part))
    ]


def _ends(part: Film) -> list[float]:
    return sorted(end for piece in part.shape.parts() for end in (piece.bounds[0], piece.bounds[2]))


def _moved(before: Sequence[float], after: Sequence[float]) -> bool:
    return len(before) != len(after) or any(
        abs(one - other) > _MOVED_NM for one, other in zip(before, after, strict=True)
    )


def _necks(section: Section, previous: Section | None, legend: Legend) -> Iterable[Callout]:
    """Films where they are thin over a step."""
    x0, _, x1, _ = section.window
    grown = {part.film for part in films(previous)} if previous is not None else frozenset()
    for part in _inorganic(films(section), legend):
        meant = section.nominal.get(part.film, 0.0)
        if part.film in grown or not meant:
            continue
        flat = level_thickness(part, x0, x1, meant)
        found = [each for piece in part.shape.parts() if (each := neck(piece, flat)) is not None]
        thin = min(found, key=lambda each: each.thickness, default=None)
        if thin is None or thin.thickness > THIN_RATIO * flat:
            continue
        below = _step_below(section, legend, part.film, thin.x, 2 * meant + _ROOM_NM)
        text = (
            f"{_sign(part, legend)} thinnest over {below}: {length_text(thin.thickness)}, "
            f"{100 * thin.thickness / flat:.0f} % of {length_text(flat)}"
        )
        yield Callout(x=thin.x, z=thin.z, text=text, detail=6 * meant + 4 * _ROOM_NM)


def _step_below(section: Section, legend: Legend, film: str, x: float, reach: float) -> str:
    """What a film climbs at a place: the uppermost film under it that ends within ``reach`` [nm]."""
    x0, _, x1, _ = section.window
    under = []
    for place in (x - reach, x + reach):
        column = section.column(min(max(place, x0), x1 - 1))
        names = [(name, material) for material, name, _, _ in column]
        under.append(names[: [name for name, _ in names].index(film)] if film in dict(names) else names)
    ends = [pair for side, other in (under, under[::-1]) for pair in side if pair not in other]
    if not ends:
        return "a step"
    conductors = [pair for pair in ends if legend.kinds.get(pair[1]) == "conductor"]
    material = (conductors or ends)[-1][1]
    return f"the edge of {legend.symbols.get(material, material)}"


def _ears(section: Section, previous: Section | None, legend: Legend) -> Iterable[Callout]:
    """Edges that stand up over the film: a fence that a resist's wall left behind, one for each film."""
    x0, _, x1, _ = section.window
    resist = any(legend.kinds.get(body.material) == "organic" for body in section.bodies)
    for part in () if resist else _touched(section, previous, legend):
        meant = section.nominal.get(part.film, 0.0)
        found = [
            edge
            for piece in part.shape.parts()
            if piece.bounds[2] - piece.bounds[0] > 6 * meant
            for side, at in ((-1.0, piece.bounds[0]), (1.0, piece.bounds[2]))
            if x0 + 1 < at < x1 - 1 and (edge := flank(piece, side, meant)).ear > EAR * meant
        ]
        if found:
            highest = max(found, key=lambda edge: edge.ear)
            count = f", at {len(found)} edges" if len(found) > 1 else ""
            text = f"{_sign(part, legend)} stands up {length_text(highest.ear)} at its edge{count}"
            yield Callout(x=highest.x, z=highest.z, text=text, detail=6 * meant + 4 * _ROOM_NM)


def _parted(section: Section, previous: Section, legend: Legend) -> Iterable[Callout]:
    """The last new film where it lies partly on a resist: the gap through which a solvent gets in."""
    known = {part.film for part in films(previous)}
    fresh = [part for part in _inorganic(films(section), legend) if part.film not in known]
    if not fresh or not any(legend.kinds.get(body.material) == "organic" for body in section.bodies):
        return
    pieces = sorted(fresh[-1].shape.parts(), key=lambda piece: piece.bounds[0])
    gaps = [(one.distance(other), k) for k, (one, other) in enumerate(pairwise(pieces))]
    if not gaps:
        return
    gap, k = min(gaps)
    one, other = pieces[k], pieces[k + 1]
    lower, upper = sorted((one, other), key=lambda piece: piece.bounds[1])
    yield Callout(
        x=(one.bounds[2] + other.bounds[0]) / 2,
        z=(lower.bounds[3] + upper.bounds[1]) / 2,
        text=f"{_sign(fresh[-1], legend)} parts at the resist: {length_text(gap)} of open wall let the solvent in",
        detail=2.6 * gap + 4 * _ROOM_NM,
    )


def _bitten(section: Section, previous: Section, legend: Legend) -> Iterable[Callout]:
    """How deep the step went into films that stay; what a resist lost comes last and has no close view."""
    x0, x1 = busy_window(films(section))
    found = bites(films(previous), films(section), x0, x1)
    found = tuple(each for each in found if each.depth >= _SKIN_NM)
    for each in sorted(found, key=lambda bite: legend.kinds.get(bite.film.material) == "organic"):
        kind = legend.kinds.get(each.film.material)
        if kind == "substrate":
            text = f"{_sign(each.film, legend)} etched {length_text(each.depth)} deep"
        else:
            text = f"{_sign(each.film, legend)} lost {length_text(each.depth)} here, {length_text(each.left)} is left"
        yield Callout(x=each.x, z=each.z, text=text)


def _voids(section: Section) -> Iterable[Callout]:
    """Voids that are closed in."""
    for shape in section.voids():
        if shape.area < _VOID_NM2:
            continue
        x0, z0, x1, z1 = shape.bounds
        text = f"void, {length_text(x1 - x0)} wide and {length_text(z1 - z0)} high"
        yield Callout(
            x=(x0 + x1) / 2, z=(z0 + z1) / 2, text=text, detail=4 * max(x1 - x0, z1 - z0) + 2 * _ROOM_NM
        )


def _edges(section: Section, previous: Section, legend: Legend, told: Sequence[float]) -> Iterable[Callout]:
    """How the edge of each film that the step put down or cut leans; edges in one place come together.

    Nothing is said within ``told`` [nm], places that have their callout.
    """
    x0, _, x1, _ = section.window
    found = []
    for part in _touched(section, previous, legend):
        meant = section.nominal.get(part.film, 100.0)
        ends = [
            flank(piece, side, meant)
            for piece in part.shape.parts()
            if piece.bounds[2] - piece.bounds[0] > 4 * meant
            for side, at in ((-1.0, piece.bounds[0]), (1.0, piece.bounds[2]))
            if x0 + 1 < at < x1 - 1
        ]
        if not ends:
            continue
        edge = min(ends, key=lambda each: (round(each.z), abs(each.x - (x0 + x1) / 2)))
        if all(abs(edge.x - x) > 4 * meant + _ROOM_NM for x in told):
            found.append((edge, _sign(part, legend), meant))
    while found:
        first = found[0][0]
        here = [each for each in found if abs(each[0].x - first.x) < 4 * _ROOM_NM]
        found = [each for each in found if each not in here]
        text = "edge of " + " and ".join(f"{name} ({_leans(edge)})" for edge, name, _ in here)
        wide = 4 * sum(meant for _, _, meant in here) + 3 * _ROOM_NM
        resist = any(legend.kinds.get(body.material) == "organic" for body in section.bodies)
        yield Callout(x=first.x, z=first.z, text=text, detail=(2.2 if resist else 1.0) * wide)


def _leans(edge: Flank) -> str:
    height = f"{length_text(edge.height)} high"
    if abs(edge.outside) < 1.0:
        return f"{height}, upright"
    where = "outside" if edge.outside > 0 else "under"
    return f"{height}, its foot {length_text(abs(edge.outside))} {where} its top: {edge.angle:.0f}°"


def _events(section: Section, legend: Legend) -> Iterable[Callout]:
    for event in section.events:
        if event.kind in _WORDS and event.area >= _VOID_NM2:
            name = legend.symbols.get(event.material, event.material)
            detail = 3 * float(np.sqrt(event.area)) + 2 * _ROOM_NM
            yield Callout(x=event.x, z=event.z, text=f"{name} {_WORDS[event.kind]}".strip(), detail=detail)


def _residues(section: Section, previous: Section | None, legend: Legend) -> Iterable[Callout]:
    """What is left, small and apart, of a film that the step (any step) took away elsewhere."""
    now = films(section)
    lost = {part.film for part in (removed(films(previous), now) if previous is not None else now)}
    for part in now:
        if part.film not in lost or legend.kinds.get(part.material) in ("organic", "substrate"):
            continue
        meant = section.nominal.get(part.film, 0.0)
        small = [
            piece.bounds for piece in part.shape.parts() if piece.bounds[2] - piece.bounds[0] < 4 * meant
        ]
        if not small:
            continue
        x0, z0, x1, z1 = max(small, key=lambda b: (b[3] - b[1]) * (b[2] - b[0]))
        count = f", in {len(small)} places" if len(small) > 1 else ""
        what = "fence" if z1 - z0 > _FENCE * (x1 - x0) else "residue"
        text = (
            f"{legend.symbols.get(part.material, part.material)} {what}, "
            f"{length_text(x1 - x0)} wide and {length_text(z1 - z0)} high{count}"
        )
        yield Callout(x=(x0 + x1) / 2, z=z1, text=text, detail=4 * max(x1 - x0, z1 - z0) + 2 * _ROOM_NM)


def _undercuts(section: Section, previous: Section, legend: Legend) -> Iterable[Callout]:
    """How far the edge of a film that was etched lies behind the foot of the organic layer above it."""
    cover = [part for part in films(section) if legend.kinds.get(part.material) == "organic"]
    if not cover:
        return
    for lost in removed(films(previous), films(section)):
        if legend.kinds.get(lost.material) in ("organic", "substrate"):
            continue
        left = next((part for part in films(section) if part.film == lost.film), None)
        found = None if left is None else _undercut(left, cover, section.nominal.get(left.film, 100.0))
        if found is not None:
            x, z, top, foot = found
            text = (
                f"{legend.symbols.get(lost.material, lost.material)} undercut: "
                f"{length_text(top)} at its top, "
                f"{length_text(abs(foot))} {'behind' if foot >= 0 else 'in front of'} the resist at its foot"
            )
            yield Callout(x=x, z=z, text=text, detail=4 * top + 2 * _ROOM_NM)


def _undercut(left: Film, cover: Sequence[Film], meant: float) -> tuple[float, float, float, float] | None:
    """x, z of the largest undercut, and its length at top and foot, of a film ``meant`` thick [nm]."""
    lids = [piece for part in cover for piece in part.shape.parts()]
    best = None
    for piece in left.shape.parts():
        ring = piece.rings()[0]
        x0, _, x1, _ = piece.bounds
        # Only what lies over this piece covers it; a neighbour's resist tells nothing of its undercut.
        own = [lid for lid in lids if lid.bounds[0] < x1 and lid.bounds[2] > x0]
        feet = [edge for lid in own for edge in _foot(lid.rings()[0])]
        for side in (-1.0, 1.0):
            (x_top, z_top), x_foot = _flank(ring, side, 2 * meant)
            near = [x for x, way in feet if way == side and 0.5 < side * (x - x_top) < 20_000]
            if not near:
                continue
            edge = min(near, key=lambda x: abs(x - x_top))
            top, foot = side * (edge - x_top), side * (edge - x_foot)
            if best is None or top > best[2]:
                best = (x_top, z_top, top, foot)
    return best


def _foot(ring: np.ndarray) -> list[tuple[float, float]]:
    """Left and right end of the lower border of a body, each with its side (−1, +1)."""
    low = float(ring[:, 1].min())
    high = float(ring[:, 1].max())
    xs = ring[ring[:, 1] < low + 0.03 * (high - low) + 1.0, 0]
    return [(float(xs.min()), -1.0), (float(xs.max()), 1.0)]


def _flank(ring: np.ndarray, side: float, within: float) -> tuple[tuple[float, float], float]:
    """The upper end of a body's flank, and the x of its lower end."""
    order = side * ring[:, 0]
    reach = ring[order > order.max() - within]
    top = reach[np.argmax(reach[:, 1] + 1e-3 * side * reach[:, 0])]
    low = reach[reach[:, 1] < reach[:, 1].min() + 0.5]
    foot = low[np.argmax(side * low[:, 0])]
    return (float(top[0]), float(top[1])), float(foot[0])
