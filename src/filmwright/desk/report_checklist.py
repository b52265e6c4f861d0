"""What has to be said beside the parameters of a lot, filled in from its files, the masks and the record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from filmwright.desk.explain import Probed, Story, known_of
from filmwright.emulate import Trace
from filmwright.measure import ChecklistRow, Said, device_checklist, lot_checklist
from filmwright.record import Event
from filmwright.units import convert, show, write

LENGTHS = 4
"""Channel lengths that a set needs so that contact and channel can be told apart."""

LOOKS = frozenset({"probe", "measure", "inspect", "park"})
"""Kinds of steps that leave the wafer as it is."""

_LOGGED = {
    "light, and the wait in the dark": ("light", "dark wait"),
    "temperature": ("temperature", "chuck temperature"),
    "atmosphere and humidity": ("atmosphere", "humidity"),
    "delay per point or sweep rate": ("delay", "sweep rate"),
}
"""Row of the checklist → what is logged at the probing steps for it."""


def lot_rows(story: Story) -> tuple[ChecklistRow, ...]:
    """The checklist of a lot over all devices whose curves were read.

    Parameters
    ----------
    story : Story

    Returns
    -------
    tuple of ChecklistRow
        Empty where no curve was read.
    """
    told = [each for each in story.probed if each.results]
    if not told:
        return ()
    logged = _logged(story)
    contacts = _contacts(told)
    devices = [device_checklist(_said(story, each, {**logged, **contacts})) for each in told]
    return lot_checklist(devices, _selection(story, told))


def report_rows(story: Story) -> tuple[tuple[str, str, str], ...]:
    """(what, value, note) of the lot's checklist: the note says from where it is known, or what is lost without it."""
    return tuple(
        (row.what, row.value, f"without it: {row.lost}" if row.missing else row.known_from)
        for row in lot_rows(story)
    )


def _said(story: Story, probed: Probed, stated: dict[str, tuple[str, str]]) -> Said:
    geometry = known_of(probed)
    own = dict(stated)
    if geometry.width and geometry.length:
        how = (
            "the run, with line widths where they were measured" if probed.as_run else "the masks, as planned"
        )
        size = f"W {show(geometry.width, 'length')}, L {show(geometry.length, 'length')}"
        own["channel width and length"] = (size, how)
    if geometry.areal_capacitance:
        how = "thickness as run" if probed.as_run else "thickness as planned"
        value = (
            f"{write(geometry.areal_capacitance, 'nF/cm^2')}, not measured: {how} and the book's permittivity"
        )
        own["areal capacitance and how it is known"] = (value, "the run" if probed.as_run else "the plan")
    if probed.fringe is not None:
        beside = (
            "wider than the contacts: mobilities are overstated" if probed.fringe else "ends at the contacts"
        )
        own["channel film against contacts"] = (beside, "the plan view")
    age = _age(story, probed)
    if age:
        own["age of the device and its storage"] = (age, "the record")
    if probed.kept and "date" not in probed.conditions:
        own["date of the measurement"] = (f"kept {probed.kept[:10]}", "the record")
    return Said(
        sweeps=probed.sweeps,
        results=probed.results,
        geometry=geometry,
        conditions=probed.conditions,
        stated=own,
    )


def _logged(story: Story) -> dict[str, tuple[str, str]]:
    """What was logged at the steps that probe."""
    probing = {state.step.number for state in story.planned.states if state.step.kind == "probe"}
    found = {}
    for what, names in _LOGGED.items():
        told = [
            f"{event.name} {_written(event)}"
            for event in story.events
            if event.name in names and event.step in probing
        ]
        if told:
            found[what] = ("; ".join(dict.fromkeys(told)), "the record")
    return found


def _written(event: Event) -> str:
    if event.value is None:
        return event.text or "logged"
    return write(event.value, event.unit) if event.unit else f"{event.value:g}"


def _contacts(told: Sequence[Probed]) -> dict[str, tuple[str, str]]:
    drawn = [each.planned.design.length for each in told if each.planned is not None]
    lengths = {show(length, "length") for length in drawn}
    if len(lengths) < LENGTHS:
        return {}
    value = f"{len(lengths)} channel lengths were measured: a set that tells contacts apart; mobilities of single devices are apparent"
    return {"contacts": (value, "the masks")}


def _age(story: Story, probed: Probed) -> str:
    """Days between the last step that changed the wafer and the day on which the curve was kept."""
    looks = {state.step.number for state in story.planned.states if state.step.kind in LOOKS}
    done = [
        event.happened
        for event in story.events
        if event.step and event.step not in looks and event.wafer in ("", probed.wafer)
    ]
    if not done or not probed.kept:
        return ""
    try:
        waited = datetime.fromisoformat(probed.kept) - datetime.fromisoformat(max(done))
    except (TypeError, ValueError):
        return ""
    days = convert(waited.total_seconds(), "day")
    return (
        f"{max(days, 0.0):.1f} days after the last step that changed the wafer; storage not recorded"
        if days > -1
        else ""
    )


def _selection(story: Story, told: Sequence[Probed]) -> tuple[str, str]:
    wafers = dict.fromkeys(each.wafer for each in told)
    unread = sum(bool(each.problem) for each in story.probed)
    words = f"all whose curves are in the record, on {len(wafers)} wafer{'s' if len(wafers) != 1 else ''}"
    made = _made(story.planned)
    if made:
        words += f"; {made} transistors are drawn"
    excluded = sum(bool(each.left_out) for each in story.probed)
    return f"{words}; {unread} files could not be read, {excluded} were left out with a reason", "the record"


def _made(planned: Trace) -> int:
    return len(planned.devices.transistors)
