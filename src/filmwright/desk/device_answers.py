"""The answer that lists what the finished die holds, for people, for spreadsheets and for programs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.units import convert, to_si

if TYPE_CHECKING:
    from filmwright.emulate import Capacitance, Listed
    from filmwright.review import Finding
    from filmwright.wafer import Device, LengthSet, Nets

COLUMNS = (
    "name",
    "kind",
    "x [µm]",
    "y [µm]",
    "terminals",
    "width drawn [µm]",
    "width made [µm]",
    "length drawn [µm]",
    "length made [µm]",
    "squares of a line",
    "overlap source [µm]",
    "overlap drain [µm]",
    "fringe",
    "gated [%]",
    "area [µm²]",
    "perimeter [µm]",
    "dielectric",
    "areal capacitance [nF/cm²]",
    "its standard deviation [nF/cm²]",
    "shorts",
)
"""Of the table for spreadsheets."""


@dataclass(frozen=True, kw_only=True)
class DevicesAnswer:
    """What the finished die holds.

    Attributes
    ----------
    flow : str
    devices : tuple of Listed
    sets : tuple of LengthSet
    crosses : tuple of Device
    nets : Nets
    findings : tuple of Finding
        Of the rules that tell of nets and devices.
    drawing : tuple of str
        What was decided in reading the drawing.
    everything : bool
        Whether a long list is printed whole.
    as_csv : bool
    """

    flow: str
    devices: tuple[Listed, ...]
    sets: tuple[LengthSet, ...]
    crosses: tuple[Device, ...]
    nets: Nets
    findings: tuple[Finding, ...]
    drawing: tuple[str, ...] = ()
    everything: bool = False
    as_csv: bool = False

    def fields(self) -> dict[str, Any]:
        """For programs."""
        counts: dict[str, int] = {}
        for each in self.devices:
            counts[each.device.kind] = counts.get(each.device.kind, 0) + 1
        names = {id(each.device): each.name for each in self.devices}
        return {
            "flow": self.flow,
            "counts": counts,
            "devices": [_device_fields(each) for each in self.devices],
            "length_sets": [_set_fields(each, names) for each in self.sets],
            "van_der_pauw_crosses": [names[id(each)] for each in self.crosses],
            "nets": _net_fields(self.nets),
            "findings": [each.fields() for each in self.findings],
            "drawing": list(self.drawing),
        }

    def csv_text(self) -> str:
        """One line a device, for a spreadsheet."""
        from filmwright.outputs import csv_text

        return csv_text([COLUMNS, *(_csv_row(each) for each in self.devices)])


def _number(value: float | None, unit: str) -> dict[str, Any] | None:
    """A number beside its unit."""
    return None if value is None else {"value": float(f"{convert(value, unit):.6g}"), "unit": unit}


def _um(nanometres: float) -> float:
    return round(convert(to_si(nanometres, "nm"), "um"), 4)


def _capacitance_fields(found: Capacitance | None) -> dict[str, Any] | None:
    if found is None:
        return None
    spread = float(f"{convert(found.std, 'nF/cm^2'):.3g}")
    return {**(_number(found.value, "nF/cm^2") or {}), "std": spread, "rests_on": list(found.rests_on)}


def _size(device: Device) -> tuple[float | None, float | None]:
    """Width and length as made: of the gap, or of the line [m]."""
    return device.line or (device.width, device.length)


def _device_fields(each: Listed) -> dict[str, Any]:
    d = each.device
    whole = each.capacitance.value * d.area if each.capacitance and d.kind == "capacitor" else None
    return {
        "name": each.name,
        "kind": d.kind,
        "place": {"x": _um(d.place[0]), "y": _um(d.place[1]), "unit": "um"},
        "towards": [round(part, 4) for part in d.towards],
        "terminals": dict(d.terminals),
        "nets": {
            role: {"number": net, "labels": list(each.labels.get(role, ()))} for role, net in d.nets.items()
        },
        "width": {"drawn": _number(each.drawn_width, "um"), "made": _number(_size(d)[0], "um")},
        "length": {"drawn": _number(each.drawn_length, "um"), "made": _number(_size(d)[1], "um")},
        "squares": float(f"{d.squares:.6g}") if d.squares else None,
        "overlaps": {role: _number(value, "um") for role, value in d.overlaps.items()},
        "fringe": d.fringe,
        "gated": round(d.gated, 4),
        "gate_above": d.gate_above,
        "area": _number(d.area, "um^2"),
        "perimeter": _number(d.perimeter, "um"),
        "dielectric": [{"material": m, "thickness": _number(t, "nm")} for m, t in d.dielectric],
        "semiconductor": [{"material": m, "thickness": _number(t, "nm")} for m, t in d.semiconductor],
        "areal_capacitance": _capacitance_fields(each.capacitance),
        "capacitance": _number(whole, "pF"),
        "shorts": [list(pair) for pair in d.shorts],
    }


def _set_fields(each: LengthSet, names: dict[int, str]) -> dict[str, Any]:
    return {
        "name": each.name,
        "arranged": each.arranged,
        "gated": each.gated,
        "width": _number(each.width, "um"),
        "lengths": [_number(length, "um") for length in each.lengths],
        "members": [names[id(member)] for member in each.members],
    }


def _net_fields(nets: Nets) -> dict[str, Any]:
    return {
        "shorted": [list(pair) for pair in nets.shorted],
        "shared": [list(pair) for pair in nets.shared],
        "parted": list(nets.parted),
        "unreachable": [{"label": label, "under": material} for label, material in nets.unreachable],
        "absent": list(nets.absent),
        "climbs": [
            {
                "film": climb.film,
                "thickness": _number(climb.thickness, "nm"),
                "step": _number(climb.step, "nm"),
                "on_the_wall": _number(climb.wall, "nm"),
                "whole": climb.whole,
            }
            for climb in nets.climbs
        ],
    }


def _csv_row(each: Listed) -> list[str]:
    d = each.device

    def shown(value: float | None, unit: str) -> str:
        return "" if value is None else f"{convert(value, unit):.6g}"

    found = each.capacitance
    return [
        each.name,
        d.kind,
        f"{_um(d.place[0]):g}",
        f"{_um(d.place[1]):g}",
        " ".join(f"{role}={' '.join(each.labels.get(role, ())) or net}" for role, net in d.nets.items()),
        shown(each.drawn_width, "um"),
        shown(_size(d)[0], "um"),
        shown(each.drawn_length, "um"),
        shown(_size(d)[1], "um"),
        f"{d.squares:.6g}" if d.squares else "",
        shown(d.overlaps.get("source"), "um"),
        shown(d.overlaps.get("drain"), "um"),
        "yes" if d.fringe else "",
        f"{100 * d.gated:.4g}" if d.kind == "transistor" else "",
        shown(d.area, "um^2"),
        shown(d.perimeter, "um"),
        stack_text(d),
        shown(found.value if found else None, "nF/cm^2"),
        shown(found.std if found else None, "nF/cm^2"),
        " ".join("=".join(pair) for pair in d.shorts),
    ]


def stack_text(device: Device) -> str:
    """The dielectric of a device, lowest film first."""
    return " / ".join(f"{material} {convert(t, 'nm'):.3g} nm" for material, t in device.dielectric)


def drawn_and_made(drawn: float | None, made: float | None) -> str:
    """A size as drawn → as made, in micrometres."""
    if made is None:
        return ""
    first = "?" if drawn is None else f"{convert(drawn, 'um'):.4g}"
    return f"{first} → {convert(made, 'um'):.4g}"
