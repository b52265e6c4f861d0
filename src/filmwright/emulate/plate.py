"""What the hot plate is set to, from the lab's readings of its offset."""

from __future__ import annotations

from collections.abc import Mapping

from filmwright.emulate.context import Context
from filmwright.flow import Step
from filmwright.knowledge import Belief
from filmwright.process import HOT_PLATE, Input, Noted, Setting, plate_offset
from filmwright.units import show


def plate_setting(step: Step, ctx: Context, wafer: Setting) -> tuple[Setting, ...]:
    """What the plate is set to for a temperature at the wafer, where its offset was measured; else nothing."""
    table = _table(step, ctx)
    single = ctx.believe("hot-plate offset", step) if not table else None
    if wafer.value is None or (single is None and not table):
        return ()
    notes: tuple[str, ...] = ()
    if single is not None:
        offset = Input.known("Δ", "wafer less plate", single)
    else:
        try:
            offset, notes = _between(table, wafer.value)
        except ValueError:
            # Readings by which a hotter plate makes a colder wafer: none of them can be used, and the lab check says so.
            return ()
    at_wafer = Input(
        symbol="T",
        name="at the wafer",
        value=wafer.value,
        unit=wafer.unit,
        source=wafer.source,
        evidence=wafer.evidence,
    )
    derived = HOT_PLATE.derive(
        lambda wafer, offset: Noted(value=wafer - offset, notes=notes),
        {"wafer": at_wafer, "offset": offset},
        unit="°C",
    )
    return (Setting.by_law("plate set to", derived, offset.source, offset.evidence),)


def _table(step: Step, ctx: Context) -> Mapping[float, Belief]:
    """Temperature of the plate [K] → what is believed of its offset there; empty where no reading says what the plate was set to."""
    at = {
        each.setting
        for each in ctx.lab.calibrations
        if each.of == "hot-plate offset"
        and each.setting is not None
        and each.tool in ("", step.tool)
        and not each.set_aside
        and each.date <= ctx.on
    }
    found = {each: ctx.believe("hot-plate offset", step, setting=each) for each in sorted(at)}
    return {each: belief for each, belief in found.items() if belief is not None}


def _between(table: Mapping[float, Belief], wafer: float) -> tuple[Input, tuple[str, ...]]:
    beliefs = list(table.values())
    value, std, notes = plate_offset(
        wafer, list(table), [each.value for each in beliefs], [each.std for each in beliefs]
    )
    # Of the readings around it the one nearer to its set temperature stands for the source.
    nearest = min(table, key=lambda plate: abs(plate + table[plate].value - wafer))
    known = table[nearest]
    read_at = ", ".join(show(plate, "temperature") for plate in table)
    evidence = f"{known.evidence}; readings with the plate at {read_at}"
    return (
        Input(
            symbol="Δ",
            name="wafer less plate",
            value=value,
            unit=known.unit,
            source=known.source,
            std=std,
            evidence=evidence,
        ),
        notes,
    )
