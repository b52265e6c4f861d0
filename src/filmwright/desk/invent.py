"""The invented run of the example: what was logged, how tools had drifted, what the probe station gave; seeded, labelled invented."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from filmwright.desk.lots import history
from filmwright.emulate import Prediction, State, Trace, assembled, gate_of, predict, walk
from filmwright.flow import SPREAD
from filmwright.knowledge import Book
from filmwright.masks import Drawing
from filmwright.record import Event, EventKind, Lot, MeasurementFile, Store, digest
from filmwright.units import ELEMENTARY_CHARGE, to_si
from filmwright.wafer import Device

DRIFT = {"deposition rate": 0.05, "etch rate": 0.12, "growth per cycle": 0.02}
"""How far the invented tools have drifted from what the lab believes: standard deviation, relative."""

_GATE = np.round(np.arange(-2.0, 6.001, 0.1), 3)
_DRAIN = (0.1, 5.0)
_FLOOR = to_si(0.3, "pA")
_LEAK = to_si(0.2, "pA")
_SHUNT = to_si(0.3, "uA")
"""Current per volt of a gate with a pinhole."""


@dataclass(frozen=True, kw_only=True)
class Inventor:
    """Draws one run; the same seed draws the same run."""

    lot: Lot
    planned: Trace
    random: np.random.Generator

    def events(self) -> tuple[Event, ...]:
        """Everything that was logged, in order."""
        clock = datetime.datetime.fromisoformat(self.lot.started)
        found: list[Event] = []
        for state in self.planned.states:
            if clock.hour >= 16:
                clock = (clock + datetime.timedelta(days=1)).replace(hour=8, minute=30)
            begin, clock = clock, clock + datetime.timedelta(seconds=max(state.duration, 240.0))
            found.append(self._event(state, "start", begin))
            found.extend(self._of_step(state, begin, clock))
            found.append(self._event(state, "finish", clock))
        return tuple(found)

    def _of_step(self, state: State, begin: datetime.datetime, end: datetime.datetime) -> Iterator[Event]:
        step = state.step
        for setting in state.settings:
            if setting.value is not None and setting.name in {"time", "cycles", "dose", "spin speed"}:
                yield self._event(state, "set", begin, setting.name, setting.value, setting.unit)
        if step.kind == "deposit" and state.thickness is not None:
            yield from self._measured_film(state, end)
        if step.kind == "etch" and state.rate is not None and step.end is not None:
            main = next((s.value for s in state.settings if s.name == "expected end point" and s.value), None)
            if main:
                seen = round(main * float(np.exp(self.random.normal(0.0, DRIFT["etch rate"] / 2))))
                yield self._event(state, "seen", end, "end point", float(seen), "s")
                yield self._event(state, "set", end, "time", round(seen * (1 + step.end.extra), 0), "s")
        if step.kind == "inspect" and step.mask == "contact":
            yield self._event(state, "set", end, "drawn width", to_si(5, "um"), "um")
            for wafer in self.lot.wafers:
                width = to_si(5, "um") + 2 * float(self.random.normal(to_si(0.35, "um"), to_si(0.05, "um")))
                yield self._event(state, "measured", end, "line width", width, "um", wafer)
                yield self._event(
                    state, "measured", end, "line width" + SPREAD, to_si(0.08, "um"), "um", wafer
                )
        if step.hold and step.kind != "inspect":
            yield self._event(state, "hold", end, text="looked as described; released")

    def _measured_film(self, state: State, end: datetime.datetime) -> Iterator[Event]:
        of = "growth per cycle" if any(s.name == "cycles" for s in state.settings) else "deposition rate"
        drifted = (state.thickness or 0.0) * float(np.exp(self.random.normal(0.0, DRIFT[of])))
        for wafer in self.lot.wafers:
            value = drifted * float(1 + self.random.normal(0.0, 0.01))
            yield self._event(state, "measured", end, "thickness", value, "nm", wafer)
            yield self._event(
                state,
                "measured",
                end,
                "thickness" + SPREAD,
                max(value * 0.015, to_si(0.4, "nm")),
                "nm",
                wafer,
            )

    def _event(  # noqa: PLR0913 - what an entry has
        self,
        state: State,
        kind: EventKind,
        when: datetime.datetime,
        name: str = "",
        value: float | None = None,
        unit: str = "",
        wafer: str = "",
        text: str = "",
    ) -> Event:
        stamp = when.isoformat(timespec="seconds")
        number = uuid.UUID(bytes=self.random.bytes(16), version=4)
        return Event(
            id=str(number),
            lot=self.lot.name,
            kind=kind,
            happened=stamp,
            written=stamp,
            wafer=wafer,
            step=state.step.number,
            name=name,
            value=value,
            unit=unit,
            text=text,
            who="AB",
            invented=True,
        )


def invent(
    store: Store, lot: Lot, planned: Trace, drawing: Drawing | None, facts: Book, most: int | None = None
) -> None:
    """Write an invented run and its probe-station tables into the record.

    Parameters
    ----------
    store : Store
    lot : Lot
    planned : Trace
    drawing : Drawing or None
    facts : Book
    most : int or None
        Devices of a wafer that were probed; None for all.
    """
    inventor = Inventor(lot=lot, planned=planned, random=np.random.default_rng(lot.seed))
    events = inventor.events()
    store.append(events)
    runs = {
        wafer: walk(
            history(planned.flow, events, wafer), planned.lab, facts, drawing, on=planned.on, sections=False
        )
        for wafer in lot.wafers
    }
    keep_tables(store, lot, runs, facts, most, inventor.random)


def keep_tables(
    store: Store,
    lot: Lot,
    runs: Mapping[str, Trace],
    facts: Book,
    most: int | None = None,
    random: np.random.Generator | None = None,
    gain: Mapping[str, float] = MappingProxyType({}),
) -> int:
    """Write invented probe-station tables of wafers as they were made into the record; how many there are.

    Parameters
    ----------
    store : Store
    lot : Lot
    runs : mapping from wafer to Trace
    facts : Book
    most : int or None
        Devices of a wafer that were probed; None for all.
    random : Generator or None
        None draws by the seed of the lot.
    gain : mapping from wafer to float
        How many times better its mobility came out, as of a split that does something.
    """
    drawn = random or np.random.default_rng(lot.seed)
    kept = store.events(lot.name)[-1].written
    count = 0
    for wafer, run in runs.items():
        for name, content in tables(run, facts, drawn, most, gain.get(wafer, 1.0)).items():
            raw = content.encode()
            file = MeasurementFile(
                lot=lot.name,
                wafer=wafer,
                device=name,
                name=f"{wafer}-{name}.csv",
                sha256=digest(raw),
                kept=kept,
                who="AB",
                invented=True,
            )
            store.keep_file(file, raw)
            count += 1
    return count


def tables(
    run: Trace, facts: Book, random: np.random.Generator, most: int | None = None, gain: float = 1.0
) -> Mapping[str, str]:
    """A probe-station table for each of the wafer's transistors with source, drain and gate labels."""
    mobility = gain * float(random.normal(0.85, 0.03))
    shift = float(random.normal(0.35, 0.05))
    found = {}
    x1 = run.final.plan.die.bounds[2]
    working = run.devices.working("transistor", {"gate": "G", "source": "S", "drain": "D"})
    for device in _spread(working, most):
        prediction = predict(device, facts, gate_of(run, device))
        if prediction is None:
            continue
        across = device.place[0] / x1
        found[device.name] = table(
            changed(
                prediction,
                mobility=mobility * float(np.exp(random.normal(0.0, 0.04))),
                shift=shift + 0.15 * across + float(random.normal(0.0, 0.04)),
                contact=float(np.exp(random.normal(0.2, 0.1))),
            ),
            random,
        )
    return found


def _spread(devices: Sequence[Device], most: int | None) -> Sequence[Device]:
    """So many of them, from all over the die rather than from its first row."""
    if most is None or most >= len(devices):
        return devices
    return [devices[k * len(devices) // most] for k in range(most)]


def changed(prediction: Prediction, *, mobility: float, shift: float, contact: float) -> Prediction:
    """The same transistor with its mobility and contact resistance times a factor, and all of it shifted by a gate voltage [V]."""
    design, numbers, made = prediction.design, dict(prediction.numbers), prediction.transistor
    numbers["mobility"] *= mobility
    for name in ("contact resistance", "specific contact resistance"):
        if name in numbers:
            numbers[name] *= contact
    if made is not None:
        numbers["interface charge"] -= shift * design.areal_capacitance / ELEMENTARY_CHARGE
        made = assembled(prediction, numbers)
    return replace(
        prediction,
        numbers=numbers,
        transistor=made,
        design=replace(
            design,
            mobility=design.mobility * mobility,
            threshold_voltage=design.threshold_voltage + shift,
            contact_resistance=design.contact_resistance * contact,
        ),
    )


def table(prediction: Prediction, random: np.random.Generator) -> str:
    """What a probe station would have written of it."""
    fate = random.random()
    rows = ["# invented curves: no device was measured", "VG [V],VD [V],ID [A],IG [A]"]
    for drain in _DRAIN:
        for gate, lag in ((_GATE, 0.0), (_GATE[::-1], 0.06)):
            ideal = prediction.currents(gate - lag, np.full_like(gate, drain))
            leak = _LEAK * np.exp(0.35 * np.abs(gate))
            if fate < 0.04:
                ideal = np.zeros_like(ideal)
            elif fate < 0.08:
                leak = np.abs(gate) * _SHUNT
                ideal = ideal + leak / 2
            current = ideal * (1 + random.normal(0.0, 0.004, gate.shape)) + random.normal(
                0.0, _FLOOR, gate.shape
            )
            gates = leak * (1 + random.normal(0.0, 0.05, gate.shape)) + random.normal(
                0.0, _FLOOR / 3, gate.shape
            )
            rows.extend(
                f"{g:.3f},{drain:g},{i:.6e},{k:.6e}" for g, i, k in zip(gate, current, gates, strict=True)
            )
    return "\n".join(rows) + "\n"
