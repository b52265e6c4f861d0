"""The channel of a transistor as the section shows it: how thick its film and its gate insulator are, all along."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from filmwright.numerics import Path, Region, distances_to, gathered_places
from filmwright.units import convert, to_si
from filmwright.wafer import Body, Device, Section

Floats = NDArray[np.float64]

_FINEST, _FEWEST, _MOST = 2.0, 200, 20_000
"""Spacing of the first look along the film [nm], and how many places it has."""
_TOUCHES = 0.05
"""Gap [nm] up to which metal and film touch; the grid of the sections is finer."""
_GATED = 1.2
"""A place lies over the gate where the gate is not farther than this many times its distance in the middle."""
_BESIDE = 10.0
"""How far the channel is followed beyond the gate's edge or a contact's, over the thickness of the insulator."""
_BEND = math.radians(5.0)
"""Bend of the film from which columns gather there."""
_THINNEST = 0.5
"""Film [nm] below which it is broken: no more than two layers of atoms."""
_PARTS = 4
"""Columns within the thinner of film and insulator where they stand closest."""


class UnreadableChannelError(ValueError):
    """The section does not show a whole channel; says why."""


@dataclass(frozen=True, kw_only=True)
class ChannelCut:
    """A channel laid flat: the face of its film that looks at the gate, followed from under the source to under the drain.

    Attributes
    ----------
    along : array (columns,) [m]
        Length along that face, rising from the source to the drain.
    film, insulator : array (columns,) [m]
        Shortest way from there to the other face of the film, and to the gate.
    path : array (columns, 2) [nm]
        The places in the section.
    source_ends, drain_begins : float [m]
        Where the contacts stop touching the film.
    contacts : "near" or "far"
        The face that they touch: that of the gate insulator, or the other.
    contact : str
        Material that touches the film.
    """

    along: Floats
    film: Floats
    insulator: Floats
    path: Floats
    source_ends: float
    drain_begins: float
    contacts: Literal["near", "far"]
    contact: str

    @property
    def length(self) -> float:
        """Between the contacts, along the film [m]."""
        return self.drain_begins - self.source_ends


def read_channel(
    section: Section, device: Device, kinds: Mapping[str, str], closed: float, columns: int = 440
) -> ChannelCut:
    """The channel of a transistor on a section cut along it.

    Thickness is the shortest way through: on a step it is that across the film, not that straight down, and beyond the edge
    of the gate the way to the gate grows.

    Parameters
    ----------
    section : Section
        Along the device.
    device : Device
        A transistor whose channel lies on the cut.
    kinds : mapping from material to kind
        ``conductor``, ``semiconductor``, ``insulator`` …
    closed : float [m]
        Thickness from which a metal is closed: what is thinner, as the foot that a lift-off leaves, is no contact.
    columns : int
        About so many, at least 40.

    Raises
    ------
    UnreadableChannelError
        When the cut does not show a film between two contacts over a gate, or the film is broken.
    """
    middle = _middle(section, device)
    film, gate = _film_and_gate(section, device, kinds, middle)
    faces = _faces(film, middle)
    near, far = faces[::-1] if device.gate_above else faces
    metals = [body for body in section.bodies if kinds.get(body.material) == "conductor" and body is not gate]
    if not metals:
        raise UnreadableChannelError("no metal but the gate lies on the cut")
    path = Path(near[::-1] if _runs_backwards(section, device) else near)
    look = _Look.along(path, far, gate, metals, _closed(metals, convert(closed, "nm"))).of_channel(middle)
    s = gathered_places(
        look.start,
        look.stop,
        [look.source_ends, look.drain_begins, *look.gate_edges, *path.bends(_BEND).tolist()],
        finest=look.thinnest / _PARTS,
        count=columns,
    )
    return _laid_flat(look, s)


def _middle(section: Section, device: Device) -> float:
    """Where the middle of the device lies along the cut [nm]."""
    (x0, y0), (x1, y1) = section.cut.points[0], section.cut.points[-1]
    far = math.hypot(x1 - x0, y1 - y0)
    return ((device.place[0] - x0) * (x1 - x0) + (device.place[1] - y0) * (y1 - y0)) / far


def _runs_backwards(section: Section, device: Device) -> bool:
    (x0, y0), (x1, y1) = section.cut.points[0], section.cut.points[-1]
    return (x1 - x0) * device.towards[0] + (y1 - y0) * device.towards[1] < 0


def _film_and_gate(
    section: Section, device: Device, kinds: Mapping[str, str], middle: float
) -> tuple[Body, Body]:
    """The semiconductor in the middle of the channel, and the first conductor on the gate's side of it."""
    wanted = device.semiconductor[0][0] if device.semiconductor else "semiconductor"
    column = section.column(middle)
    at = next((k for k, each in enumerate(column) if each[0] == wanted), None)
    if at is None:
        raise UnreadableChannelError(f"no {wanted} lies in the middle of the channel on the cut")
    beyond = column[at + 1 :] if device.gate_above else column[:at][::-1]
    gate = next((each for each in beyond if kinds.get(each[0]) == "conductor"), None)
    if gate is None:
        raise UnreadableChannelError("no conductor lies on the gate's side of the film")
    named = {(body.material, body.film): body for body in section.bodies}
    return named[column[at][:2]], named[gate[:2]]


def _faces(film: Body, middle: float) -> tuple[Floats, Floats]:
    """Lower and upper face of the piece of film over the middle, from its left end to its right end."""
    over = [ring for ring in film.shape.rings() if ring[:, 0].min() < middle < ring[:, 0].max()]
    if not over:
        raise UnreadableChannelError("the film does not reach over the middle of the channel")
    ring = max(over, key=lambda each: float(np.ptp(each[:, 0])))[:-1]
    ring = np.roll(ring, -int(np.argmin(ring[:, 0])), axis=0)
    right = int(np.argmax(ring[:, 0]))
    one, other = ring[: right + 1], np.concatenate((ring[:1], ring[right:][::-1]))
    heights = [float(np.interp(middle, face[:, 0], face[:, 1])) for face in (one, other)]
    return (one, other) if heights[0] < heights[1] else (other, one)


def _closed(metals: Sequence[Body], thickness: float) -> list[Floats]:
    """Outlines of the metals together without what is thinner than a closed film [nm]."""
    every = Region.joined(body.shape for body in metals)
    return list(every.grown(-thickness / 2).grown(thickness / 2).rings())


def _outlines(bodies: Sequence[Body]) -> list[Floats]:
    return [ring for body in bodies for ring in body.shape.rings()]


@dataclass(frozen=True, kw_only=True)
class _Look:
    """Distances [nm] at many places of the near face, and what they say of the channel."""

    path: Path
    far: Floats
    gate: Body
    metals: Sequence[Body]
    s: Floats
    film: Floats
    insulator: Floats
    metal: Floats
    source_ends: float = 0.0
    drain_begins: float = 0.0
    start: float = 0.0
    stop: float = 0.0
    gate_edges: tuple[float, ...] = ()
    face: Literal["near", "far"] = "far"

    @classmethod
    def along(
        cls, path: Path, far: Floats, gate: Body, metals: Sequence[Body], closed: list[Floats]
    ) -> _Look:
        if not closed:
            raise UnreadableChannelError("no metal on the cut is thick enough to be closed")
        s = np.linspace(0.0, path.length, int(np.clip(path.length / _FINEST, _FEWEST, _MOST)))
        points = path.places(s)
        return cls(
            path=path,
            far=far,
            gate=gate,
            metals=metals,
            s=s,
            film=distances_to(points, [far]),
            insulator=distances_to(points, _outlines([gate])),
            metal=distances_to(points, closed),
        )

    @property
    def thinnest(self) -> float:
        inside = (self.s >= self.start) & (self.s <= self.stop)
        return float(max(min(self.film[inside].min(), self.insulator[inside].min()), _THINNEST))

    def of_channel(self, middle: float) -> _Look:
        """With the contacts on either side of the middle, and as far under them as the gate has a say."""
        at = int(np.argmin(np.abs(self.path.places(self.s)[:, 0] - middle)))
        on_near = self.metal < _TOUCHES
        on_far = ~on_near & (self.metal < self.film + _TOUCHES)
        touching = on_near | on_far
        before, behind = np.flatnonzero(touching[:at]), np.flatnonzero(touching[at:]) + at
        if touching[at] or not len(before) or not len(behind):
            raise UnreadableChannelError(
                "the film does not touch metal on both sides of the channel's middle"
            )
        first, last = int(before[-1]), int(behind[0])
        gated = self.insulator <= _GATED * self.insulator[at]
        beside = _BESIDE * float(self.insulator[at])
        left, right = _run(gated, at)
        edges = [float(self.s[k]) for k in (left, right) if 0 < k < len(self.s) - 1]
        start = max(min(self.s[left], self.s[first]) - beside, self.s[_run(touching, first)[0]])
        stop = min(max(self.s[right], self.s[last]) + beside, self.s[_run(touching, last)[1]])
        return _Look(
            **{
                **vars(self),
                "source_ends": float(self.s[first]),
                "drain_begins": float(self.s[last]),
                "start": float(start),
                "stop": float(stop),
                "gate_edges": tuple(edges),
                "face": "near" if on_near[first] and on_near[last] else "far",
            }
        )

    def touching(self) -> str:
        """Material of the metal that touches the film where the source ends."""
        place = self.path.places([self.source_ends])
        return min(self.metals, key=lambda body: float(distances_to(place, _outlines([body]))[0])).material


def _run(flags: NDArray[np.bool_], at: int) -> tuple[int, int]:
    """First and last place of the unbroken run of true places around one; that place itself where it is false."""
    if not flags[at]:
        return at, at
    no = np.flatnonzero(~flags)
    left, right = no[no < at], no[no > at]
    return (int(left[-1]) + 1 if len(left) else 0), (int(right[0]) - 1 if len(right) else len(flags) - 1)


def _laid_flat(look: _Look, s: Floats) -> ChannelCut:
    points = look.path.places(s)
    film, insulator = distances_to(points, [look.far]), distances_to(points, _outlines([look.gate]))
    thin = int(np.argmin(film))
    if film[thin] < _THINNEST:
        x, z = points[thin]
        raise UnreadableChannelError(f"the film is broken at x {x:.0f} nm, z {z:.0f} nm of the cut")
    metre = to_si(1.0, "nm")
    return ChannelCut(
        along=(s - s[0]) * metre,
        film=film * metre,
        insulator=np.maximum(insulator, _THINNEST) * metre,
        path=points,
        source_ends=(look.source_ends - float(s[0])) * metre,
        drain_begins=(look.drain_begins - float(s[0])) * metre,
        contacts=look.face,
        contact=look.touching(),
    )
