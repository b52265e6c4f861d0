"""Currents of a transistor on the section that the emulation made of it, beside those of an even film."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from filmwright.device import (
    Bias,
    ChannelSection,
    FilmTransistor,
    channel_currents,
    film_current,
    thermal_voltage,
)
from filmwright.emulate.channel_cut import ChannelCut, UnreadableChannelError, read_channel
from filmwright.emulate.cuts import Found, chosen_cut
from filmwright.emulate.predict import Prediction
from filmwright.emulate.sections import along
from filmwright.emulate.trace import Trace
from filmwright.knowledge import Book, limits
from filmwright.masks import Drawing
from filmwright.units import ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY, convert, show
from filmwright.wafer import Device, Section

Array = NDArray[np.float64]

_COLUMNS = 440
_DEEP = 0.3
"""Barrier at a contact [V] from which electrons go through it rather than over it, which is not computed (judgement)."""


@dataclass(frozen=True, kw_only=True)
class SectionCurrents:
    """A transistor solved in two dimensions on its own section.

    Attributes
    ----------
    name : str
        Of the device.
    cut : ChannelCut
        What the section shows of the channel.
    gate : array (n,) [V]
    drain : tuple of float [V]
    current : array (n, drains) [A]
        In two dimensions.
    even : array (n, drains) [A]
        In one dimension, for a film of the thickness in the middle of the channel, as long as the channel on the section.
    nodes : int
    notes : tuple of str
        What whoever reads the curves must know.
    """

    name: str
    cut: ChannelCut
    gate: Array
    drain: tuple[float, ...]
    current: Array
    even: Array
    nodes: int
    notes: tuple[str, ...]


def section_of(trace: Trace, drawing: Drawing, device: Device) -> Section:
    """The section along a device at the end of a walk.

    Parameters
    ----------
    trace : Trace
    drawing : Drawing
    device : Device
        With a name and a channel.

    Raises
    ------
    BadInput
        When no cut can be laid through the device.
    """
    found = Found(drawing=drawing, plan=trace.final.plan, devices=trace.devices)
    _, line = chosen_cut(trace.flow, found, f"{device.name} along")
    if line is None:
        raise UnreadableChannelError("no cut can be laid along the device")
    start, states = along(line, trace.start, trace.states)
    section = (states[-1].wafer if states else start).section
    if section is None:
        raise UnreadableChannelError("the walk has no section")
    return section


def currents_on_section(
    section: Section,
    device: Device,
    prediction: Prediction,
    facts: Book,
    voltages: tuple[Array, Sequence[float]],
    columns: int | None = None,
    tell: Callable[[int, int], None] | None = None,
) -> SectionCurrents:
    """Transfer curves in two dimensions on the section of a transistor.

    Parameters
    ----------
    section : Section
        Along the device.
    device : Device
    prediction : Prediction
        Of the same device, from the states of its film.
    facts : Book
    voltages : (array (n,), sequence) [V]
        Gate voltages, and drain voltages.
    columns : int or None
        Along the channel, about so many; None for enough of them.
    tell : callable (done, total) or None

    Raises
    ------
    UnreadableChannelError
        When the section shows no whole channel, or the states of the film are not on file.
    RuntimeError
        When no answer is found at some bias.
    """
    made = prediction.transistor
    if made is None:
        raise UnreadableChannelError("the states of its film are not on file")
    kinds = {material.name: material.kind for material in facts.materials.values()}
    cut = read_channel(section, device, kinds, limits()["closed film"].value, columns or _COLUMNS)
    level, notes = _contact_level(cut, prediction, facts)
    laid = _laid(cut, made, level)
    gate, drains = voltages

    def told(before: int) -> Callable[[int], None]:
        return lambda done: tell(before + done, len(gate) * len(drains)) if tell else None

    solved = [
        channel_currents(laid, gate - made.offset, drain, told(at * len(gate)))
        for at, drain in enumerate(drains)
    ]
    even = _as_even(cut, made)
    return SectionCurrents(
        name=device.name,
        cut=cut,
        gate=gate,
        drain=tuple(drains),
        current=np.stack([_with_leak(curve, made) for curve in solved], axis=1),
        even=np.stack([film_current(even, gate, drain) for drain in drains], axis=1),
        nodes=int(np.prod(solved[0][0].potential.shape)),
        notes=(*_shape_notes(cut), *notes),
    )


def _with_leak(curve: Sequence[Bias], made: FilmTransistor) -> Array:
    """Currents of one drain voltage [A], with what flows beside the channel."""
    drain = curve[0].drain
    beside = -made.off_current * np.expm1(-drain / thermal_voltage(made.film.states.temperature))
    result: Array = np.array([bias.current for bias in curve]) * made.width + beside
    return result


def _middle(cut: ChannelCut) -> int:
    return int(np.argmin(np.abs(cut.along - (cut.source_ends + cut.drain_begins) / 2)))


def _laid(cut: ChannelCut, made: FilmTransistor, level: float) -> ChannelSection:
    film = made.film
    insulator = float(cut.insulator[_middle(cut)])
    return ChannelSection(
        along=cut.along,
        film=cut.film,
        insulator=cut.insulator,
        insulator_permittivity=film.areal_capacitance * insulator / VACUUM_PERMITTIVITY,
        states=film.states,
        source_ends=cut.source_ends,
        drain_begins=cut.drain_begins,
        contacts=cut.contacts,
        contact_level=level,
        contact_resistivity=made.contact.specific_resistance if made.contact is not None else 0.0,
        mobility=made.mobility,
        mobility_exponent=made.mobility_exponent,
        reference=made.reference,
        interface_states=film.interface_states,
        interface_neutral=film.interface_neutral,
        back_charge=film.back_charge,
    )


def _as_even(cut: ChannelCut, made: FilmTransistor) -> FilmTransistor:
    return replace(
        made,
        length=cut.length,
        film=replace(made.film, thickness=float(cut.film[_middle(cut)])),
    )


def _contact_level(cut: ChannelCut, prediction: Prediction, facts: Book) -> tuple[float, tuple[str, ...]]:
    """Fermi level of the contact above the band edge [V]: affinity less work function."""
    work = facts.material(cut.contact).values.get("work function")
    affinity = prediction.rests_on.get("electron affinity")
    if work is None or affinity is None:
        return 0.0, (
            f"the work function of {cut.contact} is not on file: its contact is taken without a barrier",
        )
    level = (affinity.value - work.value) / ELEMENTARY_CHARGE
    said = f"the contacts stand by the work function of {cut.contact}" + (
        " and the specific contact resistance on file"
        if prediction.transistor is not None and prediction.transistor.contact is not None
        else " alone, without a resistance of the interface"
    )
    if level < -_DEEP:
        return level, (
            said,
            f"the barrier of {show(-level, 'voltage')} there is crossed by tunnelling, which is not computed: the current is too low",
        )
    return level, (said,)


def _shape_notes(cut: ChannelCut) -> tuple[str, ...]:
    inside = (cut.along >= cut.source_ends) & (cut.along <= cut.drain_begins)
    thin, thick = float(cut.film[inside].min()), float(cut.film[_middle(cut)])
    notes = [f"{show(cut.length, 'length')} of film between the contacts"]
    if thin < 0.9 * thick:
        at = cut.path[inside][int(np.argmin(cut.film[inside]))][0]
        notes.append(
            f"the film thins from {convert(thick, 'nm'):.3g} to {convert(thin, 'nm'):.3g} nm at {at / 1000:.4g} µm of the cut"
        )
    far = float(cut.insulator[inside].max() / cut.insulator[_middle(cut)])
    if far > 1.5:
        notes.append("part of the channel lies beyond the edge of the gate")
    return tuple(notes)
