"""Where the sections are cut: as the plan says, along or across a device, or through one that is found."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from filmwright.errors import BadInput, Problem, nearest
from filmwright.flow import CutAsked, Flow
from filmwright.masks import Drawing, Label, check_cut, cut_through
from filmwright.numerics import Polyline, Region
from filmwright.units import convert, to_si
from filmwright.wafer import Device, Devices, Plan

_ENDS = (("S", "D"), ("BOTTOM", "TOP"), ("A", "B"))
"""Pairs of terminals that a cut joins, the first that is there."""

_BEYOND = 1.05
"""How far a cut goes on beyond the terminals, over half their distance."""

_ASIDE = 1.25
"""How far a cut across a channel reaches, over half the width of the semiconductor there, so that its edges are seen."""

_FAR = 3.0
"""Semiconductor that reaches farther than this, over the channel's own size, is no island."""

_MARGIN_NM = convert(to_si(5, "um"), "nm")
_WAY = re.compile(r"(?P<name>.+?)\s+(?P<way>along|across)", re.IGNORECASE)
_PLURAL = {
    "transistor": "transistors",
    "resistor": "resistors",
    "cross": "crosses",
    "film": "films between contacts",
    "capacitor": "capacitors",
    "track": "tracks",
}
"""Kinds of device, the most telling one to cut through first."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a cut may be laid through: the drawing, and what the finished die holds."""

    drawing: Drawing
    plan: Plan
    devices: Devices


def chosen_cut(flow: Flow, found: Found | None, wanted: str | None) -> tuple[str, Polyline | None]:
    """Name and line of the cut; no line without a drawing, or where nothing is asked for and no device is found.

    Parameters
    ----------
    flow : Flow
    found : Found or None
    wanted : str or None
        A cut of the plan, or a device as ``T07``, ``T07 along`` or ``T07 across``. None takes the plan's first cut, else one
        through the first transistor that works.

    Raises
    ------
    BadInput
        When the cut is neither in the plan nor a device, or leaves the drawing.
    """
    if found is None:
        if wanted:
            raise _unknown(wanted, flow, [])
        return "", None
    if wanted and wanted not in flow.cuts:
        return _of_device(wanted, flow, found)
    if not flow.cuts:
        return _by_itself(found)
    cut = flow.cuts[wanted] if wanted else next(iter(flow.cuts.values()))
    line = Polyline(cut.points) if cut.points else _placed(cut, flow, found)
    return cut.name, check_cut(found.drawing, line, cut.name, flow.file, cut.line)


def _unknown(wanted: str, flow: Flow, names: list[str]) -> BadInput:
    known = [*flow.cuts, *names]
    return BadInput(
        Problem(
            what="the cut",
            expected="one of the plan's cuts, or a device of the drawing such as T07 or T07 across",
            got=f'"{wanted}"',
            why="its place is read from the plan or from the device",
            remedy=nearest(wanted, known) if known else 'add it under "cuts:"',
            file=flow.file,
        )
    )


def _of_device(wanted: str, flow: Flow, found: Found) -> tuple[str, Polyline]:
    names = sorted({*_drawn(found.drawing), *(device.name for device in found.devices.found if device.name)})
    parts = _WAY.fullmatch(wanted.strip())
    name, way = (parts["name"], parts["way"].lower()) if parts else (wanted.strip(), "along")
    if name not in names:
        raise _unknown(wanted, flow, names)
    line = _line(name, way, found)
    if line is None:
        raise _no_place(f'the cut "{wanted}"', name, names, flow, None)
    title = f"{way} {name}"
    return title, check_cut(found.drawing, _within(line, found), title, flow.file)


def _placed(cut: CutAsked, flow: Flow, found: Found) -> Polyline:
    name, way = (cut.across, "across") if cut.across else (cut.through, "along")
    line = _line(name, way, found)
    if line is None:
        raise _no_place(f'the device of the cut "{cut.name}"', name, _drawn(found.drawing), flow, cut.line)
    return line


def _no_place(what: str, name: str, names: list[str], flow: Flow, line: int | None) -> BadInput:
    return BadInput(
        Problem(
            what=what,
            expected="a device with a channel, or with two labelled terminals on the drawing",
            got=f'"{name}"',
            why="the cut runs from one terminal to the other, or across between them",
            remedy=nearest(name, names),
            file=flow.file,
            line=line,
        )
    )


def _by_itself(found: Found) -> tuple[str, Polyline | None]:
    """A cut along the first device of the most telling kind: those that work, and have a name of their own, go first."""
    named = Counter(device.name for device in found.devices.found)

    def rank(device: Device) -> tuple[int, bool, bool]:
        alone = bool(device.name) and named[device.name] == 1
        return list(_PLURAL).index(device.kind), bool(device.shorts) or not alone, device.fringe

    device = min(found.devices.found, key=rank, default=None)
    if device is None:
        return "", None
    line = _channel_line([device], "along", found) or _line(device.name, "along", found)
    if line is None:
        return "", None
    alike = len(found.devices.of_kind(device.kind))
    called = device.name or f"the {device.kind} at {_at(device)}"
    said = f"the first of {alike} {_PLURAL[device.kind]}" if alike > 1 else f"the only {device.kind}"
    return f"along {called} ({said})", _within(line, found)


def _at(device: Device) -> str:
    x, y = (convert(to_si(part, "nm"), "um") for part in device.place)
    return f"({x:.4g}, {y:.4g}) µm"


def _line(name: str, way: str, found: Found) -> Polyline | None:
    """The cut through a device: by its channels where the finished die has some, else by its labels."""
    channels = [d for d in found.devices.found if d.name == name and d.length is not None]
    if channels:
        return _channel_line(channels, way, found)
    pair = _terminals(found.drawing, name)
    if pair is None:
        return None
    (x0, y0), (x1, y1) = ((label.x_nm, label.y_nm) for label in pair)
    if (x0, y0) == (x1, y1):
        x1 += 1.0
    reach = math.hypot(x1 - x0, y1 - y0) / 2 * _BEYOND
    towards = (x1 - x0, y1 - y0) if way == "along" else (y0 - y1, x1 - x0)
    return cut_through(((x0 + x1) / 2, (y0 + y1) / 2), towards, reach)


def _channel_line(channels: Sequence[Device], way: str, found: Found) -> Polyline | None:
    """Along the channels of a device to beyond its terminals, or across the first to beyond its semiconductor."""
    first = channels[0]
    if first.length is None or first.width is None:
        return None
    dx, dy = first.towards
    towards = (dx, dy) if way == "along" else (-dy, dx)
    middle, own = first.place, convert(first.length if way == "along" else first.width, "nm") / 2
    if way == "along" and len(channels) > 1:
        middle, own = _span(channels)
    half = _half_island(first, middle, towards, found.plan)
    reach = own * _ASIDE if half > _FAR * own else max(own, half) * _ASIDE
    reach += _MARGIN_NM
    pair = _terminals(found.drawing, first.name) if way == "along" else None
    for label in pair or ():
        far = abs((label.x_nm - middle[0]) * dx + (label.y_nm - middle[1]) * dy)
        reach = max(reach, far * _BEYOND)
    return cut_through(middle, towards, reach)


def _span(channels: Sequence[Device]) -> tuple[tuple[float, float], float]:
    """Middle of a row of channels, and half its length along the first [nm]."""
    (x, y), (dx, dy) = channels[0].place, channels[0].towards
    far = [(each.place[0] - x) * dx + (each.place[1] - y) * dy for each in channels]
    halves = [convert(each.length or 0.0, "nm") / 2 for each in channels]
    low = min(at - half for at, half in zip(far, halves, strict=True))
    high = max(at + half for at, half in zip(far, halves, strict=True))
    centre = (low + high) / 2
    return (x + centre * dx, y + centre * dy), (high - low) / 2


def _half_island(
    device: Device, middle: tuple[float, float], towards: tuple[float, float], plan: Plan
) -> float:
    """How far the semiconductor of a channel reaches from a middle in a direction [nm]."""
    x, y = middle
    # What reaches farther than this is no island; see _FAR.
    far = 2 * (_FAR + 1) * convert(max(device.length or 0.0, device.width or 0.0), "nm") + _MARGIN_NM
    px, py = device.place
    near = plan.within(px - far, py - far, px + far, py + far)
    islands = [
        part
        for material, _ in device.semiconductor
        for part in Region.joined(c.region for c in near if c.column.thickness(material) > 0).parts()
        if _touches(part, *device.place)
    ]
    reaches = [
        abs((px - x) * towards[0] + (py - y) * towards[1])
        for part in islands
        for ring in part.rings()
        for px, py in ring.tolist()
    ]
    return max(reaches, default=0.0)


def _touches(part: Region, x: float, y: float) -> bool:
    x0, y0, x1, y1 = part.bounds
    return x0 <= x <= x1 and y0 <= y <= y1 and part.holds(x, y)


def _within(line: Polyline, found: Found) -> Polyline:
    """A straight cut that nobody placed by hand, shortened to the drawing."""
    x0, y0, x1, y1 = found.drawing.die.bounds
    (ax, ay), (bx, by) = line.points
    part = 1.0
    cx, cy = (ax + bx) / 2, (ay + by) / 2
    for far, middle, low, high in ((bx, cx, x0, x1), (by, cy, y0, y1)):
        if far != middle:
            part = min(part, (high - middle if middle < high else 0) / abs(far - middle))
            part = min(part, (middle - low) / abs(far - middle))
    if part <= 0:
        return line
    return Polyline(
        ((cx + part * (ax - cx), cy + part * (ay - cy)), (cx + part * (bx - cx), cy + part * (by - cy)))
    )


def _drawn(drawing: Drawing) -> list[str]:
    return sorted({label.text.partition(":")[0] for label in drawing.labels})


def _terminals(drawing: Drawing, name: str) -> tuple[Label, Label] | None:
    """The two labels of a device that a cut joins: source and drain if it has them, else those farthest apart."""
    ends = {
        label.text.partition(":")[2]: label
        for label in drawing.labels
        if label.text.partition(":")[0] == name
    }
    pairs = [(ends[a], ends[b]) for a, b in _ENDS if a in ends and b in ends]
    if pairs:
        return pairs[0]
    others = [label for end, label in ends.items() if end != "G"]
    return max(combinations(others, 2), key=_apart, default=None)


def _apart(pair: tuple[Label, Label]) -> float:
    return math.hypot(pair[1].x_nm - pair[0].x_nm, pair[1].y_nm - pair[0].y_nm)
