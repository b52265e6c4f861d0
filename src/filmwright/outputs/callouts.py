"""What a section picture should point at: thin insulator over edges, undercut, residues, torn metal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from filmwright.outputs.frame import length_text
from filmwright.outputs.geometry import Film, films, removed
from filmwright.outputs.legend import Legend
from filmwright.outputs.section_notes import Callout
from filmwright.units import convert

if TYPE_CHECKING:
    from filmwright.wafer import Section

MOST = 5
"""More callouts than this hide the picture."""

THIN_RATIO = 0.98
"""An insulator that keeps more than this part of its thickness over an edge is not pointed at; judgement."""

_ROOM_NM = 60.0


def callouts_of(section: Section, previous: Section | None, legend: Legend) -> tuple[Callout, ...]:
    """Places worth pointing at after a step, the most telling first.

    Parameters
    ----------
    section, previous : Section
        After and before the step; without ``previous`` only thin insulators are looked for.
    legend : Legend
    """
    found = list(_thin_insulators(section, legend))
    if previous is not None:
        found = [
            *_events(section, legend),
            *_residues(section, previous, legend),
            *_undercuts(section, previous, legend),
            *found,
        ]
        found = found or list(_edges(section, previous, legend))
    return tuple(found[:MOST])


def _thin_insulators(section: Section, legend: Legend) -> Iterable[Callout]:
    """Insulators where they are thin over the edge of a conductor."""
    for body in films(section):
        if legend.kinds.get(body.material) != "insulator":
            continue
        thin = section.thinnest(body.film)
        if thin is None or not 0 < thin.ratio < THIN_RATIO:
            continue
        nominal = convert(thin.thickness / thin.ratio, "nm")
        below = _conductor_below(section, legend, body.film, thin.x, nominal)
        if not below:
            continue
        text = (
            f"{legend.symbols.get(body.material, body.material)} thinnest over the edge of {below}: "
            f"{length_text(convert(thin.thickness, 'nm'))}, "
            f"{100 * thin.ratio:.0f} % of {length_text(nominal)}"
        )
        yield Callout(x=thin.x, z=thin.z, text=text, detail=6 * nominal + 2 * _ROOM_NM)


def _conductor_below(section: Section, legend: Legend, film: str, x: float, reach: float) -> str:
    """Sign of a conductor under a film within ``reach`` [nm] of a place; empty when there is none."""
    x0, _, x1, _ = section.window
    for place in (x, x - reach, x + reach):
        if not x0 <= place < x1:
            continue
        for material, name, _, _ in section.column(place):
            if name == film:
                break
            if legend.kinds.get(material) == "conductor":
                return legend.symbols.get(material, material)
    return ""


def _events(section: Section, legend: Legend) -> Iterable[Callout]:
    words = {
        "torn": "torn off, a ragged edge stays",
        "bridged": "held by a bridge, not lifted",
        "sealed": "void sealed in",
    }
    for event in section.events:
        if event.kind in words:
            name = legend.symbols.get(event.material, event.material)
            detail = 3 * float(np.sqrt(event.area)) + 2 * _ROOM_NM
            yield Callout(x=event.x, z=event.z, text=f"{name} {words[event.kind]}".strip(), detail=detail)


def _residues(section: Section, previous: Section, legend: Legend) -> Iterable[Callout]:
    """What is left, small and apart, of a film that the step took away elsewhere."""
    lost = {part.film: part for part in removed(films(previous), films(section))}
    for part in films(section):
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
        text = (
            f"{legend.symbols.get(part.material, part.material)} residue, "
            f"{length_text(x1 - x0)} wide and {length_text(z1 - z0)} high{count}"
        )
        yield Callout(x=(x0 + x1) / 2, z=z1, text=text, detail=4 * max(x1 - x0, z1 - z0) + 2 * _ROOM_NM)


def _edges(section: Section, previous: Section, legend: Legend) -> Iterable[Callout]:
    """One edge of each film that the step put down or cut; edges in one place come together."""
    was = {part.film: part.shape for part in films(previous)}
    found: list[tuple[float, float, str, float]] = []
    for part in films(section):
        before = was.get(part.film)
        if legend.kinds.get(part.material) in ("organic", "substrate") or part.shape is before:
            continue
        if before is not None and len(before.parts()) == len(part.shape.parts()):
            continue
        edge = _lowest_edge(section, part)
        if edge is not None:
            meant = section.nominal.get(part.film, 100.0)
            name = legend.symbols.get(part.material, part.material)
            found.append((*edge, f"{name} ({length_text(meant)} on flat ground)", meant))
    while found:
        x, z, _, _ = found[0]
        here = [each for each in found if abs(each[0] - x) < 4 * _ROOM_NM]
        found = [each for each in found if each not in here]
        text = "edge of " + " and ".join(each[2] for each in here)
        wide = 4 * sum(each[3] for each in here) + 3 * _ROOM_NM
        resist = any(legend.kinds.get(body.material) == "organic" for body in section.bodies)
        yield Callout(x=x, z=z, text=text, detail=(2.2 if resist else 1.0) * wide)


def _lowest_edge(section: Section, part: Film) -> tuple[float, float] | None:
    """The lowest end of a film inside the cut, nearest to its middle; at half its height there [nm]."""
    x0, _, x1, _ = section.window
    ends = []
    for piece in part.shape.parts():
        for x, inward in ((piece.bounds[0], 0.5), (piece.bounds[2], -0.5)):
            if x0 + 1 < x < x1 - 1:
                here = [(low, high) for _, name, low, high in section.column(x + inward) if name == part.film]
                if here:
                    ends.append((round(here[0][0]), abs(x - (x0 + x1) / 2), x, (here[0][0] + here[0][1]) / 2))
    if not ends:
        return None
    _, _, x, z = min(ends)
    return x, z


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
