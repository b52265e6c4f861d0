"""The profile of an edge, read off a section that crosses it.

A section that runs from one broad column to another shows what columns cannot: how thin a film is on a wall that leans, what is
left standing along it, how far the films of one side end behind one another, and whether an overhang left a gap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import OPEN, POCKET, closest, crossings
from filmwright.units import convert, to_si
from filmwright.wafer.column import FENCE, Column, Layer
from filmwright.wafer.nets import Kind
from filmwright.wafer.section import Section

TOUCH_NM = 1.0
"""A border shorter than this [nm] carries no current and belongs to the rounding of the section."""

_ASIDE_NM = 1500.0
"""How far beyond an edge of the plan its wall may lie [nm]: undercuts and overhangs included."""

_VOID_NM2 = 25.0
"""Smallest gap that is told [nm²]; smaller ones are the rounding of corners."""

_WHISKER_NM = 2.0
"""What is lower or narrower than this [nm] is no fence: the section is no finer."""

_LEVEL = 0.25
"""Share of a film's thickness, from below and from above, that counts as its foot and its top edge."""

_INWARD, _BREATH = 0.1, 0.01
"""A foot carries more than the second share of the film's thickness, the first share of it further in: what thins out
to less than that is the rounding of the shapes, not a film."""

_FACING_DOWN = -0.1
"""A surface whose normal points further down than this is an underside."""


_FULL = 0.9
"""A film that has this share of its thickness in the middle of a strip lies there, and does not run out."""


@dataclass(frozen=True)
class Stretch:
    """One column along a cut, from ``start`` to ``end`` [nm]."""

    column: Column
    start: float
    end: float

    @property
    def middle(self) -> float:
        """Half way along [nm]."""
        return (self.start + self.end) / 2


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """Films of one kind, grown in a row, that are on both sides of an edge.

    Attributes
    ----------
    films, materials : tuple of str
        From the lowest up; more than one for metals put down one after the other.
    kind : Kind
    thickness : float [m]
        On the flat, on the side where it is thinner.
    least : float [m]
        At its narrowest place across the edge; 0 where it is interrupted.
    whole : bool
        Whether it goes across in one piece.
    """

    films: tuple[str, ...]
    materials: tuple[str, ...]
    kind: Kind
    thickness: float
    least: float
    whole: bool

    @property
    def coverage(self) -> float:
        """Narrowest place over thickness on the flat."""
        return min(self.least / self.thickness, 1.0)


@dataclass(frozen=True, kw_only=True)
class Ending:
    """A film that ends at an edge.

    Attributes
    ----------
    film, material : str
    foot, top : float [m]
        How far its lower and its upper edge lie behind the nearest edge of a print (negative: before it).
    """

    film: str
    material: str
    foot: float
    top: float

    def slope(self, thickness: float) -> float:
        """Angle [rad] of its wall from the ground: ``atan(d / (top − foot))``, above π/2 where it overhangs."""
        return math.atan2(thickness, self.top - self.foot)


@dataclass(frozen=True, kw_only=True)
class Fence:
    """What stands along an edge and belongs to neither side.

    Attributes
    ----------
    film, material : str
    height, width : float [m]
    beside : str
        Material of the highest wall that it stands at; empty when it stands free.
    """

    film: str
    material: str
    height: float
    width: float
    beside: str


@dataclass(frozen=True, kw_only=True)
class EdgeProfile:
    """Everything that a section across an edge tells.

    Attributes
    ----------
    crossings : tuple of Crossing
    endings : tuple of Ending
    fences : tuple of Fence
    ears : mapping from film to float [m]
        How far a film stands up at the edge above its own surface on the flat.
    voids : tuple of float [m²]
        Areas of enclosed gaps.
    ending : tuple of Crossing
        Metals that climb a step within the edge and end before its other side, from the middle of the first strip that has
        them to the middle of the last.
    """

    crossings: tuple[Crossing, ...]
    endings: tuple[Ending, ...]
    fences: tuple[Fence, ...]
    ears: Mapping[str, float]
    voids: tuple[float, ...]
    ending: tuple[Crossing, ...] = ()


class EdgeReader:
    """Reads one edge off a section.

    Parameters
    ----------
    section : Section
    stretches : sequence of Stretch
        The columns along the cut, from one broad column to the other, as the plan has them.
    kinds : mapping from material to Kind
    """

    def __init__(self, section: Section, stretches: Sequence[Stretch], kinds: Mapping[str, Kind]) -> None:
        self.section = section
        self.stretches = tuple(stretches)
        self.kinds = kinds
        self.pieces = section.pieces
        self.ends = tuple(self._under(where) for where in (stretches[0].start, stretches[-1].end))

    def _under(self, x: float) -> dict[str, int]:
        """Film → piece at a place along the cut."""
        x0, _, x1, _ = self.section.window
        found = crossings(self.section.layers.cover.cells, min(max(x, x0 + 1.0), x1 - 1.0))
        return {self.pieces[k].film: k for k, _, _ in found}

    @cached_property
    def window(self) -> tuple[float, float]:
        """Where along the cut the edge with all its strips lies [nm]."""
        low, high = self.stretches[0], self.stretches[-1]
        reach = (min(_ASIDE_NM, low.end - low.start), min(_ASIDE_NM, high.end - high.start))
        return low.end - reach[0], high.start + reach[1]

    @cached_property
    def touching(self) -> dict[int, set[int]]:
        """Piece → the pieces that it touches along more than a nanometre."""
        near: dict[int, set[int]] = {}
        for (a, b), length in self.section.layers.cover.contacts().items():
            if length > TOUCH_NM:
                near.setdefault(a, set()).add(b)
                near.setdefault(b, set()).add(a)
        return near

    @cached_property
    def _metal(self) -> list[int]:
        """The pieces that conduct."""
        return [k for k, piece in enumerate(self.pieces) if self.kinds[piece.material] == "conductor"]

    def reached(self, start: Iterable[int], within: Iterable[int]) -> set[int]:
        """The pieces of a set that hang together with some of them."""
        allowed = set(within)
        waiting = [piece for piece in start if piece in allowed]
        found = set(waiting)
        while waiting:
            for other in self.touching.get(waiting.pop(), ()):
                if other in allowed and other not in found:
                    found.add(other)
                    waiting.append(other)
        return found

    def profile(self, feet: Sequence[float] = ()) -> EdgeProfile:
        """The whole profile.

        Parameters
        ----------
        feet : sequence of float [nm]
            Along the cut, where the feet of printed resist stood.
        """
        low, high = self.window
        return EdgeProfile(
            crossings=tuple(self.crossing(run) for run in self._runs()),
            endings=tuple(self._endings(feet)) if feet else (),
            fences=tuple(self._fences()),
            ears=self._ears(),
            voids=tuple(
                to_si(to_si(void.area, "nm"), "nm")
                for void in self.section.voids()
                if void.area > _VOID_NM2 and low < (void.bounds[0] + void.bounds[2]) / 2 < high
            ),
            ending=tuple(self._ending()),
        )

    def _ending(self) -> Iterable[Crossing]:
        """Metals that are on neither or one broad side, from strip to strip."""
        for (first, last), run in self._carried():
            x = (
                self.window[0] if first == 0 else self.stretches[first].middle,
                self.window[1] if last == len(self.stretches) - 1 else self.stretches[last].middle,
            )
            films = {name_of(layer) for layer in run[0]}
            cuts = [
                [
                    cut
                    for cut in crossings(self.section.layers.cover.cells, each)
                    if self.pieces[cut[0]].film in films
                ]
                for each in x
            ]
            flat = min(sum(layer.thickness for layer in layers) for layers in run)
            if any(sum(top - low for _, low, top in cut) < _FULL * convert(flat, "nm") for cut in cuts):
                continue
            starts, goals = ({piece for piece, _, _ in cut} for cut in cuts)
            held = self.reached(starts, (k for k, piece in enumerate(self.pieces) if piece.film in films))
            whole = bool(held & goals)
            yield Crossing(
                films=tuple(name_of(layer) for layer in run[0]),
                materials=tuple(layer.material for layer in run[0]),
                kind="conductor",
                thickness=flat,
                least=to_si(self._neck(held, x), "nm") if whole else 0.0,
                whole=whole,
            )

    def _carried(self) -> Iterable[tuple[tuple[int, int], tuple[list[Layer], list[Layer]]]]:
        """First and last of neighbouring stretches, not all, and the metals in a row that climb a step there, in both."""
        carried = [
            {
                layer.born: (layer, sum(each.thickness for each in stretch.column.layers[:place]))
                for place, layer in enumerate(stretch.column.layers)
                if self.kinds[layer.material] == "conductor" and layer.born > 0 and FENCE not in layer.marks
            }
            for stretch in self.stretches
        ]
        spans: dict[tuple[int, int], list[int]] = {}
        for born in sorted(set().union(*carried)):
            have = [place for place, layers in enumerate(carried) if born in layers]
            span = have[0], have[-1]
            ground = [convert(carried[place][born][1], "nm") for place in have]
            climbs = max(ground) - min(ground) > TOUCH_NM
            if climbs and span[1] - span[0] + 1 == len(have) and len(have) < len(carried):
                spans.setdefault(span, []).append(born)
        for (first, last), row in spans.items():
            breaks = [
                0,
                *(k + 1 for k, (one, other) in enumerate(pairwise(row)) if other > one + 1),
                len(row),
            ]
            for start, end in pairwise(breaks):
                run = row[start:end]
                yield (first, last), ([carried[first][b][0] for b in run], [carried[last][b][0] for b in run])

    def _runs(self) -> list[tuple[tuple[Layer, Layer], ...]]:
        """Films on both sides that carry current, metals grown one after the other together."""
        one, other = self.stretches[0].column, self.stretches[-1].column
        there = {layer.born: layer for layer in other.layers}
        both = [
            (layer, there[layer.born])
            for layer in one.layers
            if layer.born in there and self.kinds[layer.material] in ("conductor", "semiconductor")
        ]
        runs: list[list[tuple[Layer, Layer]]] = []
        for pair in both:
            before = runs[-1][-1][0] if runs else None
            if before is not None and self._in_a_row(before, pair[0]):
                runs[-1].append(pair)
            else:
                runs.append([pair])
        return [tuple(run) for run in runs if run[0][0].born > 0]

    def _in_a_row(self, before: Layer, layer: Layer) -> bool:
        alike = self.kinds[before.material] == self.kinds[layer.material]
        return alike and before.born > 0 and layer.born == before.born + 1

    def crossing(self, run: Sequence[tuple[Layer, Layer]]) -> Crossing:
        """How films that are on both sides go across."""
        films = tuple(name_of(pair[0]) for pair in run)
        own = [k for k, piece in enumerate(self.pieces) if piece.film in films]
        starts, goals = ({end[film] for film in films if film in end} for end in self.ends)
        held = self.reached(starts, own)
        whole = bool(held & goals)
        return Crossing(
            films=films,
            materials=tuple(pair[0].material for pair in run),
            kind=self.kinds[run[0][0].material],
            thickness=min(sum(pair[side].thickness for pair in run) for side in (0, 1)),
            least=to_si(self._neck(held), "nm") if whole else 0.0,
            whole=whole,
        )

    def _neck(self, own: set[int], between: tuple[float, float] | None = None) -> float:
        """The narrowest way through pieces that hang together [nm]: from what they lie on to what is above them.

        ``between`` looks at nothing but what lies between two places along the cut.
        """
        edges = self.section.layers.cover.edges
        mine = edges.where(np.isin(edges.cell, list(own)) & ~np.isin(edges.other, list(own)))
        low, high = between or self.window
        x = np.sort(np.stack([mine.start[:, 0], mine.end[:, 0]]), axis=0)
        mine = mine.where((x[1] > low) & (x[0] < high))
        if between is not None:
            mine = replace(
                mine, start=_cut(mine.start, mine.end, between), end=_cut(mine.end, mine.start, between)
            )
        solid = mine.other >= 0
        floor = mine.where((solid & (mine.other < mine.cell)) | (mine.other == POCKET))
        above = (mine.other == OPEN) & (mine.outward[:, 1] > _FACING_DOWN)
        roof = mine.where((solid & (mine.other > mine.cell)) | above)
        return closest(floor, roof)[0] if len(floor.cell) and len(roof.cell) else 0.0

    def _endings(self, feet: Sequence[float]) -> Iterable[Ending]:
        low, high = self.window
        for side, sign in ((0, -1.0), (1, 1.0)):
            column = self.stretches[-side].column
            missing = self.ends[1 - side]
            for layer in column.layers[1:]:
                film = name_of(layer)
                piece = self.ends[side].get(film)
                if piece is None or film in missing:
                    continue
                foot, top = self._face(
                    piece, self.stretches[0].start if side == 0 else self.stretches[-1].end, sign
                )
                if not low < foot < high:
                    continue
                printed = min(feet, key=lambda place: abs(place - foot))
                yield Ending(
                    film=film,
                    material=layer.material,
                    foot=to_si(sign * (foot - printed), "nm"),
                    top=to_si(sign * (top - printed), "nm"),
                )

    def _face(self, piece: int, x: float, sign: float) -> tuple[float, float]:
        """Where the foot and the top of a piece end, seen from the side on which it lies [nm]."""
        cover = self.section.layers.cover
        points = np.vstack(cover.cells[piece].rings())
        bottom, top = next((a, b) for k, a, b in crossings(cover.cells, x) if k == piece)
        band = _LEVEL * (top - bottom)
        low = points[points[:, 1] < bottom + band]
        high = points[points[:, 1] > top - band]
        end = -sign * float((-sign * high[:, 0]).max()) if len(high) else x
        return self._foot(piece, low, sign, top - bottom, x), end

    def _foot(self, piece: int, low: NDArray[np.float64], sign: float, thickness: float, x: float) -> float:
        """The outermost of low points that carries more than a breath of the film a little further in [nm]."""
        shape = [self.section.layers.cover.cells[piece]]
        places = np.sort(low[:, 0])[:: 1 if sign > 0 else -1]
        for place in places:
            inner = crossings(shape, float(place + sign * _INWARD * thickness))
            if sum(b - a for _, a, b in inner) > _BREATH * thickness:
                return float(place)
        return float(places[0]) if len(places) else x

    def _fences(self) -> Iterable[Fence]:
        low, high = self.window
        sides = {piece for end in self.ends for piece in end.values()}
        kept = sides | self.reached(sides, self._metal)
        for k, body in enumerate(self.pieces):
            x0, z0, x1, z1 = body.shape.bounds
            if k in kept or not low < (x0 + x1) / 2 < high or min(x1 - x0, z1 - z0) < _WHISKER_NM:
                continue
            walls = [self.pieces[other] for other in self.touching.get(k, ())]
            older = [wall for wall in walls if wall.shape.bounds[3] > z0 + TOUCH_NM]
            tallest = max(older, key=lambda wall: wall.shape.bounds[3], default=None)
            yield Fence(
                film=body.film,
                material=body.material,
                height=to_si(z1 - z0, "nm"),
                width=to_si(x1 - x0, "nm"),
                beside=tallest.material if tallest else "",
            )

    def _ears(self) -> dict[str, float]:
        """Films that stand up at the edge, above the higher of their flat surfaces."""
        cells = self.section.layers.cover.cells
        flat: dict[int, float] = {}
        for x in (self.stretches[0].start, self.stretches[-1].end):
            for k, _, top in crossings(cells, x):
                flat[k] = max(flat.get(k, -math.inf), top)
        high = {k: self.pieces[k].shape.bounds[3] - top for k, top in flat.items()}
        return {self.pieces[k].film: to_si(rise, "nm") for k, rise in high.items() if rise > TOUCH_NM}


def _cut(
    points: NDArray[np.float64], others: NDArray[np.float64], between: tuple[float, float]
) -> NDArray[np.float64]:
    """Ends of straight edges, those outside of two places along the cut moved along the edge to there [nm]."""
    x = np.clip(points[:, 0], *between)
    along = others - points
    share = (x - points[:, 0]) / np.where(along[:, 0] == 0, 1.0, along[:, 0])
    return np.asarray(points + share[:, None] * along)


def name_of(layer: Layer) -> str:
    """How a section calls the film of a layer."""
    return layer.film if layer.born else layer.material
