"""The corners of the overlay: every level after the first lies beside its place, and the devices are read again.

Windows around the transistors that bear least are walked once more with the later prints moved along both axes: all alike by two
standard deviations of one alignment, and against each other so that every two of them differ by two standard deviations of their
difference, which is √2 of one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from filmwright.emulate.context import Planned
from filmwright.emulate.trace import NOMINAL, Failure, Misaligned, State
from filmwright.knowledge import Lab, limits
from filmwright.numerics import Region
from filmwright.units import convert, to_si
from filmwright.wafer import (
    COVERED,
    Action,
    Cell,
    Device,
    Devices,
    Kind,
    Plan,
    Print,
    Wafer,
    read_devices,
    read_nets,
)

Box = tuple[float, float, float, float]

SIGMAS = 2.0
"""How many standard deviations of one alignment the later levels lie off."""

MOST = 3
"""At most so many kinds of transistor are tried: the shortest, the one with least overlap, the narrowest."""

_ROUND_NM = convert(to_si(12, "um"), "nm")
"""How far a window reaches beyond channel and overlaps."""

_NEAR_NM = convert(to_si(5, "um"), "nm")
"""A device that is found again lies at most so far from where it was."""

_PLUS, _MINUS = "to the right and up", "to the left and down"


def with_misalignment(
    start: Wafer,
    states: Sequence[State],
    planned: Sequence[Planned],
    devices: Devices,
    kinds: Mapping[str, Kind],
    lab: Lab,
) -> tuple[Misaligned, ...]:
    """What fails when the later levels lie off the first, by the overlay of the lab; empty where nothing is aligned.

    Parameters
    ----------
    start : Wafer
    states : sequence of State
    planned : sequence of Planned
    devices : Devices
        Of the nominal die.
    kinds : mapping from material to Kind
    lab : Lab
    """
    masks = [state.step.mask for state in states if state.step.kind == "develop"]
    tried = weakest(devices)
    if len(set(masks)) < 2 or not tried:
        return ()
    boxes = [_window(device) for device in tried]
    whole = Region.joined([Region.box(*box) for box in boxes])
    aligned = _read(_cut(states[-1].wafer.plan, whole), kinds)
    shift = SIGMAS * lab.limits.get("overlay", limits()["overlay"].value)
    found = []
    for way, moves in patterns(tuple(dict.fromkeys(masks))[1:]):
        off = {mask: share * convert(shift, "nm") for mask, share in moves.items()}
        there = _read(_walked(start, states, planned, boxes, off), kinds)
        failures = [each for device in tried for each in _failures(device, aligned, there)]
        found.append(Misaligned(way=way, shift=shift, tried=len(tried), failures=tuple(failures)))
    return tuple(found)


def patterns(later: Sequence[str]) -> tuple[tuple[str, dict[str, float]], ...]:
    """Ways in which levels lie off the first: in words, and by which share of the overlay each goes to the right and up.

    Parameters
    ----------
    later : sequence of str
        The masks after the first.
    """
    found = [
        (f"every level {words}", dict.fromkeys(later, sign)) for words, sign in ((_PLUS, 1.0), (_MINUS, -1.0))
    ]
    # Numbered in binary, every two levels differ in at least one digit.
    for digit in range((len(later) - 1).bit_length()):
        plus = [mask for place, mask in enumerate(later) if place >> digit & 1]
        minus = [mask for mask in later if mask not in plus]
        words = f"{' and '.join(plus)} {_PLUS}, {' and '.join(minus)} {_MINUS}"
        share = 1 / math.sqrt(2)
        found.append((words, {mask: share if mask in plus else -share for mask in later}))
    return tuple(found)


def weakest(devices: Devices) -> tuple[Device, ...]:
    """The transistors that bear a misalignment least, named ones that work: shortest, least overlap, narrowest."""
    working = [
        each
        for each in devices.transistors
        if each.name and each.length and each.width and not each.shorts and each.gated >= COVERED
    ]
    if not working:
        return ()
    ranks = (
        lambda each: (each.length, each.width),
        lambda each: (min(each.overlaps.values(), default=math.inf), each.length),
        lambda each: (each.width, each.length),
    )
    return tuple({each.name: each for each in (min(working, key=rank) for rank in ranks)}.values())[:MOST]


def _window(device: Device) -> Box:
    """The box round a channel with its overlaps [nm]."""
    (x, y), (dx, dy) = device.place, device.towards
    long = convert((device.length or 0.0) / 2 + max(device.overlaps.values(), default=0.0), "nm") + _ROUND_NM
    wide = convert((device.width or 0.0) / 2, "nm") + _ROUND_NM
    half = abs(dx) * long + abs(dy) * wide, abs(dy) * long + abs(dx) * wide
    return x - half[0], y - half[1], x + half[0], y + half[1]


def _cut(plan: Plan, whole: Region) -> Plan:
    """The windows of a plan."""
    cells = [
        Cell(region=cell.region.intersection(whole), column=cell.column)
        for cell in plan.within(*whole.bounds)
    ]
    return Plan.undivided(plan.die, tuple(cell for cell in cells if not cell.region.empty), plan.born)


def _walked(
    start: Wafer,
    states: Sequence[State],
    planned: Sequence[Planned],
    boxes: Sequence[Box],
    off: Mapping[str, float],
) -> Plan:
    """The windows after all steps, with each mask moved by so much in x and y [nm]."""
    whole = Region.joined([Region.box(*box) for box in boxes])
    plan = Plan.undivided(
        start.plan.die, (Cell(region=whole, column=start.plan.columns[0]),), start.plan.born
    )
    for state, each in zip(states, planned, strict=True):
        for action in each.actions(NOMINAL, plan):
            plan, _ = plan.apply(_shifted(action, boxes, off.get(state.step.mask, 0.0)))
    return plan


def _shifted(action: Action, boxes: Sequence[Box], off: float) -> Action:
    """A print as it falls on the windows when its mask lies off; wider than they are, so that a bias moves no edge of theirs."""
    if not isinstance(action, Print):
        return action
    wide = _ROUND_NM + abs(off)
    near = [action.keep.clipped(x0 - wide, y0 - wide, x1 + wide, y1 + wide) for x0, y0, x1, y1 in boxes]
    return replace(action, keep=Region.joined(near).moved(off, off))


def _read(plan: Plan, kinds: Mapping[str, Kind]) -> Devices:
    return read_devices(plan, kinds, read_nets(plan, kinds))


def _failures(device: Device, aligned: Devices, there: Devices) -> Iterator[Failure]:
    """What has become of a device that is sound where all levels lie on each other."""
    before, after = _nearest(device, aligned), _nearest(device, there)
    if before is None or before.shorts:
        # The window is too small for this device to be read in it.
        return
    if after is None:
        yield Failure(
            device=device.name, what="source and drain are joined, or a contact has lost the channel"
        )
        return
    for one, other in after.shorts:
        yield Failure(device=device.name, what=f"{one} and {other} are joined")
    if before.gated >= COVERED > after.gated:
        yield Failure(device=device.name, what=f"the gate covers only {after.gated:.0%} of the channel")


def _nearest(device: Device, devices: Devices) -> Device | None:
    """The transistor that is found where a device lies."""
    near = [each for each in devices.transistors if math.dist(each.place, device.place) <= _NEAR_NM]
    return min(near, key=lambda each: math.dist(each.place, device.place), default=None)
