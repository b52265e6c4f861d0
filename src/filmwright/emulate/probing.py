"""The test plan of a probe step: which devices in which order, within which voltages and limits, and what to expect."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from filmwright.device import TransistorDesign, drain_current
from filmwright.emulate.predict import gate_of, predict
from filmwright.emulate.probing_numbers import (
    Bias,
    current,
    devices_for_yield,
    settled,
    step_of_gate,
    weakest,
)
from filmwright.emulate.sparing import sparing
from filmwright.emulate.trace import Listing, Reading, State, Trace
from filmwright.knowledge import Book
from filmwright.process import Setting
from filmwright.units import show
from filmwright.wafer import Device, length_sets

_COLUMNS = ("", "what, on which device", "gate", "drain", "step", "limit", "expect", "wait")
_OUTPUT_GATES = 5


def with_probing(trace: Trace, facts: Book, only: Iterable[str] = ()) -> Trace:
    """The trace with the test plan of each probe step.

    Parameters
    ----------
    trace : Trace
    facts : Book
    only : iterable of str
        Numbers of the steps that are wanted; empty for all.
    """
    wanted = set(only)
    states = tuple(
        _probed(state, trace, facts)
        if state.step.kind == "probe" and (not wanted or state.step.number in wanted)
        else state
        for state in trace.states
    )
    return replace(trace, states=states)


def _probed(state: State, trace: Trace, facts: Book) -> State:
    plan = _Plan(state, trace, facts)
    if plan.sparing is None:
        known = [*trace.devices.transistors, *trace.devices.capacitors]
        said = "no breakdown field on file: ask before more than a volt is put across the insulator"
        return replace(state, look=(*state.look, said)) if known else state
    return replace(
        state,
        follows=(*state.follows, *plan.numbers),
        look=(*state.look, *plan.words),
        tables=(*state.tables, *plan.tables),
        readings=(*state.readings, *_READINGS),
    )


_READINGS = (
    Reading(name="dark wait before the first sweep"),
    Reading(name="temperature and humidity of the room"),
    Reading(name="devices that failed at the contact check or leaked"),
)


@dataclass(frozen=True)
class _Plan:
    """One probe step with all that its table needs."""

    state: State
    trace: Trace
    facts: Book

    @cached_property
    def usual(self) -> Mapping[str, float]:
        """How devices are usually probed [SI]."""
        return {name: value.value for name, value in self.facts.models["probing"].items()}

    @cached_property
    def sparing(self) -> Setting | None:
        """The lowest of the voltages that spare an insulator."""
        found = sparing(self.trace, self.facts)
        return min(found, key=lambda each: each.value or 0.0) if found else None

    @property
    def safe(self) -> float:
        """The lower end of the band of that voltage [V]."""
        if self.sparing is None:
            return 0.0
        band = self.sparing.derivation.band
        return band[0] if band else self.sparing.value or 0.0

    @cached_property
    def asked_gate(self) -> float:
        """What the plan asks for, else what spares the insulator [V]."""
        asked, expect = self.state.step.asked.get("gate"), self.trace.flow.expect
        if asked is not None:
            return asked.value
        return expect.probe_voltage if expect is not None and expect.probe_voltage is not None else self.safe

    @property
    def gate(self) -> float:
        """Highest gate voltage of the sweeps [V]."""
        return min(self.asked_gate, self.safe)

    @cached_property
    def drain(self) -> float:
        """Highest drain voltage of the sweeps [V]."""
        asked = self.state.step.asked.get("drain")
        return asked.value if asked is not None else self.gate

    @property
    def low_drain(self) -> float:
        """Drain voltage of the linear curve [V]."""
        return self.usual["drain for the linear curve"] * self.drain

    @cached_property
    def working(self) -> tuple[Device, ...]:
        """Transistors that work, with a size."""
        return tuple(
            d for d in self.trace.devices.working("transistor", {}) if d.width and d.length and d.dielectric
        )

    @cached_property
    def lengths(self) -> tuple[Device, ...]:
        """The gated set of most lengths at one width, one device of each length; those that share a contact in a row first."""
        sets = [each for each in length_sets(self.trace.devices) if each.gated]
        best = max(
            sets,
            key=lambda each: (len(_once(each.members)), each.arranged == "row", each.width),
            default=None,
        )
        return _once(best.members) if best is not None else ()

    @cached_property
    def main(self) -> Device | None:
        """Long and wide, so that its contacts count least; a named one where there is one."""
        named = [device for device in self.working if device.name]
        return max(named or self.working, key=lambda d: (d.length or 0.0, d.width or 0.0), default=None)

    @cached_property
    def spare(self) -> Device | None:
        """One that may be lost: another of the size that occurs most often."""
        others = [device for device in self.working if device is not self.main and device not in self.lengths]
        sizes = [_size(device) for device in others]
        return max(others, key=lambda d: (sizes.count(_size(d)), d.name), default=None)

    @cached_property
    def design(self) -> TransistorDesign | None:
        """Of the main device, from its sizes as made; None where a value is not on file."""
        if self.main is None:
            return None
        found = predict(self.main, self.facts, gate_of(self.trace, self.main))
        return found.design if found is not None else None

    @cached_property
    def bias(self) -> Bias | None:
        """The main device with its values, for the derivations."""
        if self.main is None:
            return None
        found = predict(self.main, self.facts, gate_of(self.trace, self.main))
        return Bias(self.main, found, self.gate, self.drain, self.low_drain) if found is not None else None

    @cached_property
    def step(self) -> float:
        """From point to point of the gate [V]."""
        span = 2 * self.gate / (self.usual["most points"] - 1)
        fine = step_of_gate(self.bias, self.facts) if self.bias is not None else None
        return _round_down(max(fine.value or span, span) if fine is not None else span)

    @cached_property
    def numbers(self) -> tuple[Setting, ...]:
        """Everything that has a law."""
        found = [self.sparing] if self.sparing is not None else []
        count = len([*self.trace.devices.transistors, *self.trace.devices.capacitors])
        if self.sparing is not None and count > 1:
            found.append(weakest(self.sparing, count, self.facts))
        if self.bias is not None:
            found += [current(self.bias, self.bias.low_drain, "drain current, linear")]
            found += [current(self.bias, self.bias.drain, "drain current, saturation")]
            found += [step_of_gate(self.bias, self.facts), settled(self.bias, self.step, self.facts)]
        found.append(devices_for_yield(self.facts, self.trace.lab))
        return tuple(found)

    def _number(self, name: str) -> float | None:
        return next((each.value for each in self.numbers if each.name == name), None)

    @property
    def words(self) -> tuple[str, ...]:
        """What counts for every sweep."""
        wait = show(self.usual["dark wait"], "time")
        share = f"{100 * self.usual['leakage share']:.2g} %"
        found = [
            f"at most {show(self.safe, 'voltage')} across the insulator: lower end of the band for {self._thinnest}",
            f"lamp off and lid closed for {wait} before the first sweep, then no light",
            f"stop and tell when the gate current is more than {share} of the drain current",
        ]
        if self.asked_gate > self.safe:
            found.append(
                f"the plan asks for {show(self.asked_gate, 'voltage')}: more than spares the insulator"
            )
        return tuple(found)

    @property
    def _thinnest(self) -> str:
        """The films that decide, with their thinnest places."""
        given = self.sparing.derivation.inputs if self.sparing is not None else ()
        return " and ".join(f"{each.shown} {each.name}" for each in given if each.symbol.startswith("d"))

    @property
    def tables(self) -> tuple[Listing, ...]:
        """The sweeps in their order."""
        rows = [*self._before(), *self._curves(), *self._many()]
        if not rows:
            return ()
        note = (
            "Every sweep goes up and back. Voltages against the source; a p-type device takes the other sign. "
            f"Wait: from the step of a voltage to the reading; below {self._floor} only with longer waits."
        )
        numbered = tuple((str(k), *row) for k, row in enumerate(rows, start=1))
        return (Listing(title="Sweeps, in this order", columns=_COLUMNS, rows=numbered, note=note),)

    @property
    def _floor(self) -> str:
        found = self._number("current that charging hides")
        return show(found, "current") if found else "a nanoampere"

    @property
    def _wait(self) -> str:
        return show(self.usual["delay"], "time")

    def _before(self) -> list[tuple[str, ...]]:
        gate_limit, ends = show(self.usual["gate limit"], "current"), f"0 to ±{show(self.gate, 'voltage')}"
        rows: list[tuple[str, ...]] = []
        if self.spare is not None:
            rows.append(("both needles on one pad: they touch", "–", "0.1 V", "–", "1 mA", "below 10 Ω", "–"))
            what, small = (
                f"gate current, on one that may be lost: {_named(self.spare)}",
                f"below {self._floor}",
            )
            step = show(self.step, "voltage")
            rows.append((what, ends, "0 V", step, gate_limit, small, self._wait))
        plate = next(iter(self.trace.devices.capacitors), None)
        if plate is not None:
            what, step = f"capacitance and leakage of {_named(plate)}", show(4 * self.step, "voltage")
            size = f"area {show(plate.area, 'area')}"
            rows.append((what, ends, "–", step, gate_limit, size, self._wait))
        return rows

    def _curves(self) -> list[tuple[str, ...]]:
        if self.main is None:
            return []
        turn, name = f"{show(-self.gate, 'voltage')} to {show(self.gate, 'voltage')}", _named(self.main)
        step = show(self.step, "voltage")
        rows: list[tuple[str, ...]] = [
            (
                f"transfer: {name}",
                turn,
                show(low, "voltage"),
                step,
                self._limit(low),
                self._expected(low),
                self._wait,
            )
            for low in (self.low_drain, self.drain)
        ]
        gates = ", ".join(f"{self.gate * k / _OUTPUT_GATES:.3g}" for k in range(1, _OUTPUT_GATES + 1))
        span, points = f"0 to {show(self.drain, 'voltage')}", show(_round_down(self.drain / 50), "voltage")
        rows.append(
            (
                f"output: {name}",
                f"{gates} V",
                span,
                points,
                self._limit(self.drain),
                self._expected(self.drain),
                self._wait,
            )
        )
        return rows

    def _many(self) -> list[tuple[str, ...]]:
        if self.main is None:
            return []
        turn, step, low = (
            f"{show(-self.gate, 'voltage')} to {show(self.gate, 'voltage')}",
            show(self.step, "voltage"),
            self.low_drain,
        )
        rows: list[tuple[str, ...]] = []
        if len(self.lengths) > 1:
            sizes = ", ".join(show(device.length or 0.0, "length") for device in self.lengths)
            names = ", ".join(dict.fromkeys(device.name for device in self.lengths if device.name))
            rows.append(
                (
                    f"one of each length ({names or 'one width'}): {sizes}",
                    turn,
                    show(low, "voltage"),
                    step,
                    self._limit(low),
                    "R·W on a line over L",
                    self._wait,
                )
            )
        count = round(self._number("devices that show the yield") or 0)
        good = f"{100 * self.usual['wanted yield']:.3g} %"
        enough = (
            ""
            if count <= len(self.working)
            else f", of which the die has {len(self.working)}: take more dies"
        )
        rows.append(
            (
                f"{count} devices picked before{enough}",
                turn,
                show(low, "voltage"),
                step,
                self._limit(low),
                f"all good: yield above {good}",
                self._wait,
            )
        )
        rows.append(
            (
                f"once more: {_named(self.main)}",
                turn,
                show(low, "voltage"),
                step,
                self._limit(low),
                "as the first time",
                self._wait,
            )
        )
        return rows

    def _expected(self, drain: float) -> str:
        if self.design is None:
            return "not on file: widest range first"
        on, off = (float(drain_current(self.design, gate, drain)) for gate in (self.gate, -self.gate))
        return f"{show(on, 'current')} on, {show(max(off, 0.0), 'current')} off; range {show(_decade(on), 'current')}"

    def _limit(self, drain: float) -> str:
        if self.design is None:
            return show(_USUAL_LIMIT, "current")
        on = float(drain_current(self.design, self.gate, drain))
        return show(_round_down(self.usual["drain margin"] * on), "current")


_USUAL_LIMIT = 1e-3
"""Limit of the drain current [A] where none can be computed (judgement)."""


def _once(members: Iterable[Device]) -> tuple[Device, ...]:
    """One device of each length, shortest first."""
    found: dict[int, Device] = {}
    for each in members:
        if each.length:
            found.setdefault(round(math.log(each.length) / math.log(1.02)), each)
    return tuple(found.values())


def _size(device: Device) -> tuple[float, float]:
    return round(device.width or 0.0, 9), round(device.length or 0.0, 9)


def _named(device: Device) -> str:
    if device.width and device.length:
        return f"{device.name or device.kind} (W {show(device.width, 'length')}, L {show(device.length, 'length')})"
    return device.name or device.kind


def _round_down(value: float) -> float:
    """To 1, 2 or 5 of its decade."""
    decade = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return next(k for k in (5, 2, 1) if value >= k * decade * (1 - 1e-9)) * decade


def _decade(value: float) -> float:
    """The full decade above, with a fifth to spare."""
    return 10.0 ** math.ceil(math.log10(max(1.2 * abs(value), 1e-15)))
