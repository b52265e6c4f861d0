"""Which device a measured curve belongs to, and its W, L and areal capacitance, each with where it is known from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from filmwright.desk.files import record_place
from filmwright.desk.lots import frozen
from filmwright.emulate import gate_of, predict, walk
from filmwright.knowledge import book
from filmwright.measure import Geometry, Sweep, probing_shift
from filmwright.record import Store
from filmwright.units import convert, write

SIZES = {"width": "um", "length": "um", "areal_capacitance": "nF/cm^2"}
_ALIVE = 1e-3
"""Share of the middle on current below which a device counts as dead for the order of probing."""


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of the devices of a lot.

    Attributes
    ----------
    lot : str
    sizes : mapping from device to Geometry
        As the emulated wafer has them from the drawing.
    files : mapping from SHA-256 to (wafer, device)
        Tables that the record keeps.
    """

    lot: str
    sizes: Mapping[str, Geometry]
    files: Mapping[str, tuple[str, str]]


def known_of(lot: str, record: str | Path | None) -> Known:
    """The devices of a lot, from its frozen plan and drawing, and the tables that its record keeps."""
    with Store.open(record_place(record)) as store:
        held, work = frozen(store, lot)
        files = {each.sha256: (each.wafer, each.device) for each in store.files(held.name) if each.device}
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=held.started[:10], sections=False)
    sizes = {}
    for device in trace.devices.found:
        if device.kind != "transistor":
            continue
        found = predict(device, book(), gate_of(trace, device))
        if found is not None:
            design = found.design
            sizes[device.name] = Geometry(
                width=design.width,
                length=design.length,
                areal_capacitance=design.areal_capacitance,
                fringe=device.fringe,
            )
    return Known(lot=held.name, sizes=sizes, files=files)


def identified(
    sweeps: Sequence[Sweep], stated: Geometry, known: Known | None
) -> tuple[tuple[Sweep, ...], tuple[Geometry, ...], tuple[dict[str, Any], ...], tuple[str, ...]]:
    """The sweeps with their devices, what is known of each, where it is known from, and what was noticed.

    An option counts more than the table, the table more than its file's name, and both more than the drawing of the lot.
    """
    notes: dict[str, None] = {}
    named, geometries, origins = [], [], []
    for sweep in sweeps:
        if known is not None and not sweep.device and sweep.sha256 in known.files:
            wafer, device = known.files[sweep.sha256]
            sweep = replace(sweep, device=device, wafer=sweep.wafer or wafer)
        drawn = known.sizes.get(sweep.device) if known is not None else None
        if known is not None and drawn is None and not (sweep.width and sweep.length):
            notes[_not_drawn(sweep, known)] = None
        geometry, origin = _geometry(sweep, stated, drawn, notes)
        named.append(sweep)
        geometries.append(geometry)
        origins.append(origin)
    shifted = order_of_probing(named, geometries)
    return tuple(named), tuple(geometries), tuple(origins), (*notes, *shifted)


def _not_drawn(sweep: Sweep, known: Known) -> str:
    if not sweep.device:
        return f"{sweep.file}: the device is not known, so neither are its W and L: state --name-pattern, or keep the table with its device"
    return f'{sweep.file}: "{sweep.device}" is no transistor on the drawing of lot {known.lot}: W and L are not known'


def _geometry(
    sweep: Sweep, stated: Geometry, drawn: Geometry | None, notes: dict[str, None]
) -> tuple[Geometry, dict[str, Any]]:
    sizes: dict[str, float | None] = {}
    told: dict[str, Any] = {
        "device": sweep.device or None,
        "wafer": sweep.wafer or None,
        "sha256": sweep.sha256,
        "temperature": None if sweep.temperature is None else {"value": sweep.temperature, "unit": "K"},
    }
    for name, unit in SIZES.items():
        sources = {
            "option": getattr(stated, name),
            "table or file name": getattr(sweep, name),
            "drawing of the lot": getattr(drawn, name) if drawn is not None else None,
        }
        given = {source: value for source, value in sources.items() if value is not None}
        value = next(iter(given.values()), None)
        sizes[name] = value
        told[name] = (
            "not known"
            if value is None
            else {"value": convert(value, unit), "unit": unit, "from": next(iter(given))}
        )
        for source, other in given.items():
            if value is not None and abs(other - value) > 0.02 * value:
                shown = f"{write(value, unit)} ({next(iter(given))}), {write(other, unit)} ({source})"
                notes[
                    f"{sweep.device or sweep.file}: two values of {name.replace('_', ' ')}: {shown}; the first counts"
                ] = None
    heat = sweep.temperature or stated.temperature
    beside = stated.fringe if drawn is None else drawn.fringe
    return replace(stated, **sizes, temperature=heat, fringe=beside), told  # type: ignore[arg-type]


def order_of_probing(sweeps: Sequence[Sweep], geometries: Sequence[Geometry]) -> tuple[str, ...]:
    """What the on currents say of the order of probing, one curve for each device at the commonest drain voltage."""
    drains = [sweep.drain_voltage for sweep in sweeps if sweep.drain_voltage is not None]
    if not drains:
        return ()
    common = max(set(drains), key=drains.count)
    first: dict[tuple[str, str, str], tuple[float, float]] = {}
    for sweep, geometry in zip(sweeps, geometries, strict=True):
        if sweep.drain_voltage == common and geometry.width and geometry.length:
            place = (sweep.wafer, sweep.device, "" if sweep.device else sweep.file)
            first.setdefault(
                place, (geometry.width / geometry.length, float(np.max(np.abs(sweep.drain_current))))
            )
    if not first:
        return ()
    sizes, currents = (np.array(each) for each in zip(*first.values(), strict=True))
    currents[currents < _ALIVE * np.median(currents)] = np.nan
    words = probing_shift(sizes, currents).words
    return (words,) if words else ()
