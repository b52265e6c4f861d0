"""What has to be said beside a transistor's parameters so that another lab can compare: filled in, or named as missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from filmwright import units
from filmwright.measure.conditions import Condition
from filmwright.measure.curves import Sweep
from filmwright.measure.results import CurveResult, Geometry

ROWS = {
    "channel width and length": "mobility, and any comparison of devices of different size",
    "areal capacitance and how it is known": "mobility and trap density; a permittivity from a book can be off by a fifth",
    "drain voltage of each sweep": "whether a curve is linear or saturated: threshold and mobility have no region",
    "gate voltages: range and step": "the resolution of swing and onset",
    "directions of the sweep": "hysteresis: a threshold of one direction may be off by all of it",
    "delay per point or sweep rate": "hysteresis, drift and displacement current depend on it: nobody can repeat the curve",
    "integration and current limit": "whether floor and flat tops are those of the device",
    "light, and the wait in the dark": "off current, onset and swing: light of the microscope lasts for hours in an oxide film",
    "temperature": "swing against its limit, and any activation",
    "atmosphere and humidity": "threshold and hysteresis: water and oxygen move both",
    "age of the device and its storage": "drift from making to measuring is taken for a difference of process",
    "date of the measurement": "the order of events, and the age",
    "gate current": "whether the drain current is that of the channel",
    "channel film against contacts": "current beside the contacts: a film wider than they overstates the mobility",
    "contacts": "what is channel and what is contact in the mobility: at least four lengths tell",
    "definitions used": "what threshold, mobility and swing mean",
    "number of devices and how they were chosen": "whether a value is that of the process or of the best device",
}
"""What is asked for (after IEEE Std 1620-2008, from memory, with what film transistors need beside) → what is lost without."""


MOST, MOST_LONG, LONG = 3, 1, 60
"""Different answers that are written out for a lot, the same where one is longer than so many characters."""


@dataclass(frozen=True, kw_only=True)
class ChecklistRow:
    """One thing to be said.

    Attributes
    ----------
    what : str
        A key of :data:`ROWS`.
    value : str
        Empty where it is not known.
    known_from : str
        The file and line, an option, the masks, the record.
    lost : str
        What cannot be told, or not be trusted, without it.
    """

    what: str
    value: str = ""
    known_from: str = ""
    lost: str = ""

    @property
    def missing(self) -> bool:
        """Whether it is not known."""
        return not self.value


@dataclass(frozen=True, kw_only=True)
class Said:
    """What is known about the measurement of one device.

    Attributes
    ----------
    sweeps : sequence of Sweep
    results : sequence of CurveResult
        Of these sweeps.
    geometry : Geometry
    conditions : mapping from condition to Condition
        From the file.
    stated : mapping from a key of :data:`ROWS` to (value, known from)
        From masks, record or options; comes before what the file says.
    """

    sweeps: Sequence[Sweep]
    results: Sequence[CurveResult]
    geometry: Geometry
    conditions: Mapping[str, Condition] = field(default_factory=dict)
    stated: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def device_checklist(said: Said) -> tuple[ChecklistRow, ...]:
    """What is to be reported about one device, filled in from the file, the masks, the record and the extraction.

    Parameters
    ----------
    said : Said

    Returns
    -------
    tuple of ChecklistRow
        One for each key of :data:`ROWS`.
    """
    rows = []
    for what, lost in ROWS.items():
        value, known_from = said.stated.get(what) or _FILL[what](said)
        rows.append(ChecklistRow(what=what, value=value, known_from=known_from if value else "", lost=lost))
    return tuple(rows)


def lot_checklist(
    devices: Sequence[Sequence[ChecklistRow]], selection: tuple[str, str] = ("", "")
) -> tuple[ChecklistRow, ...]:
    """What is to be reported about a lot: what all devices have in common, what differs, for how many it is missing.

    Parameters
    ----------
    devices : sequence of checklists of devices
    selection : (value, known from)
        How many devices were made, measured and left out, and why.

    Returns
    -------
    tuple of ChecklistRow
    """
    rows = []
    for place, (what, lost) in enumerate(ROWS.items()):
        column = [device[place] for device in devices]
        without = sum(row.missing for row in column)
        value = _together([row.value for row in column if row.value])
        if value and without:
            value += f" (missing for {without} of {len(column)} devices)"
        sources = list(dict.fromkeys(row.known_from for row in column if row.value))
        known_from = sources[0] if len(sources) == 1 else f"{len(sources)} sources" if sources else ""
        rows.append(ChecklistRow(what=what, value=value, known_from=known_from, lost=lost))
    chosen = f"{len(devices)} device{'s' if len(devices) != 1 else ''} measured; how chosen: {selection[0] or 'not recorded'}"
    rows[-1] = replace(rows[-1], value=chosen if selection[0] else "", known_from=selection[1])
    return tuple(rows)


def _together(values: Sequence[str]) -> str:
    """What several devices say, the commonest first; of many or long answers the first ones stand for the rest."""
    counts = Counter(values).most_common()
    most = MOST_LONG if any(len(value) > LONG for value, _ in counts) else MOST
    told = "; ".join(value for value, _ in counts[:most])
    return told + (f" … ({len(counts)} different)" if len(counts) > most else "")


def checklist_fields(rows: Sequence[ChecklistRow]) -> list[dict[str, Any]]:
    """A checklist for programs.

    Parameters
    ----------
    rows : sequence of ChecklistRow
    """
    return [
        {
            "what": row.what,
            "value": row.value,
            "known_from": row.known_from,
            "missing": row.missing,
            "lost": row.lost,
        }
        for row in rows
    ]


def _size(said: Said) -> tuple[str, str]:
    own = next((each for each in said.sweeps if each.width and each.length), None)
    width = said.geometry.width or (own.width if own else None)
    length = said.geometry.length or (own.length if own else None)
    if not width or not length:
        return "", ""
    where = "the file" if own and not said.geometry.width else "options"
    return f"W {units.show(width, 'length')}, L {units.show(length, 'length')}", where


def _capacitance(said: Said) -> tuple[str, str]:
    known = said.geometry.areal_capacitance
    return (f"{units.write(known, 'nF/cm^2')}, how measured: not recorded", "options") if known else ("", "")


def _drains(said: Said) -> tuple[str, str]:
    volts = [each.drain_voltage for each in said.sweeps]
    if not volts or None in volts:
        return "", ""
    return ", ".join(f"{each:g} V" for each in dict.fromkeys(volts)), "the file"


def _gates(said: Said) -> tuple[str, str]:
    told = []
    for each in said.sweeps:
        grid = each.gate_voltage
        told.append(f"{grid[0]:g} to {grid[-1]:g} V in steps of {float(np.median(np.diff(grid))):.3g} V")
    return "; ".join(dict.fromkeys(told)), "the file"


def _directions(said: Said) -> tuple[str, str]:
    ways = dict.fromkeys(each.direction for each in said.results)
    if not ways:
        return "", ""
    both = any(each.pair >= 0 for each in said.sweeps)
    return " and ".join(ways) + ("" if both else " only: hysteresis cannot be told"), "the file"


def _from_file(*names: str) -> Callable[[Said], tuple[str, str]]:
    def fill(said: Said) -> tuple[str, str]:
        told = [(name, said.conditions[name]) for name in names if name in said.conditions]
        if not told:
            return "", ""
        value = "; ".join(f"{name} {each.value}" if len(names) > 1 else each.value for name, each in told)
        return value, f"the file, line {told[0][1].line}"

    return fill


def _temperature(said: Said) -> tuple[str, str]:
    own = [each.temperature for each in said.sweeps if each.temperature is not None]
    if own:
        return ", ".join(units.write(each, "degC") for each in dict.fromkeys(own)), "the file"
    return _from_file("temperature")(said)


def _gate_current(said: Said) -> tuple[str, str]:
    measured = sum(each.gate_current is not None for each in said.sweeps)
    if not measured:
        return "", ""
    leaks = [each.parameters["gate_leakage"].value or 0.0 for each in said.results]
    return (
        f"measured in {measured} of {len(said.sweeps)} sweeps, {max(leaks, default=0.0):.2g} A at most",
        "the file",
    )


def _fringe(said: Said) -> tuple[str, str]:
    if said.geometry.fringe is None:
        return "", ""
    wide = "wider than the contacts: mobilities are overstated"
    return (wide if said.geometry.fringe else "ends at the contacts"), "options"


def _contacts(said: Said) -> tuple[str, str]:
    known = said.geometry.contact_resistance
    if known is None:
        return "", ""
    return f"{units.write(known, 'ohm*cm')} each (R·W), taken off in contact corrected mobility", "options"


def _definitions(said: Said) -> tuple[str, str]:
    if not said.results:
        return "", ""
    told = []
    for name in ("threshold_voltage", "field_effect_mobility", "saturation_mobility", "subthreshold_swing"):
        method = next((r.parameters[name].method for r in said.results if r.parameters[name].valid), "")
        told += [f"{name.replace('_', ' ')}: {method}"] if method else []
    return "; ".join(told) or "printed with each parameter; none was valid", "this extraction"


def _nothing(_: Said) -> tuple[str, str]:
    return "", ""


_FILL: Mapping[str, Callable[[Said], tuple[str, str]]] = {
    "channel width and length": _size,
    "areal capacitance and how it is known": _capacitance,
    "drain voltage of each sweep": _drains,
    "gate voltages: range and step": _gates,
    "directions of the sweep": _directions,
    "delay per point or sweep rate": _from_file("delay", "hold", "rate"),
    "integration and current limit": _from_file("integration", "limit"),
    "light, and the wait in the dark": _from_file("light", "dark wait"),
    "temperature": _temperature,
    "atmosphere and humidity": _from_file("atmosphere", "humidity"),
    "age of the device and its storage": _from_file("age"),
    "date of the measurement": _from_file("date"),
    "gate current": _gate_current,
    "channel film against contacts": _fringe,
    "contacts": _contacts,
    "definitions used": _definitions,
    "number of devices and how they were chosen": _nothing,
}
