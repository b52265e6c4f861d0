"""What the sets of different length of a lot tell, as a report shows it."""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.desk.explain import Story
from filmwright.desk.lot_lengths import LotSet
from filmwright.learn import Z95
from filmwright.measure import GatedLengths, Parameter
from filmwright.outputs import Picture, PlainTable, gated_lengths_plot
from filmwright.units import plain, pretty, show

_COLUMNS = (
    ("contact_resistance", "contact resistance, one contact"),
    ("length_offset", "ΔL, electrical less stated"),
    ("mobility_free_of_contacts", "mobility free of contacts"),
)


def length_tables(story: Story, sets: Sequence[LotSet]) -> tuple[PlainTable, ...]:
    """Contacts, length offset and mobility of each set beside the prediction, and the share of the contacts by length."""
    if not sets:
        return ()
    told = [each for each in sets if each.found is not None]
    notes = [f"{_title(each)}: {each.why_not}." for each in sets if each.found is None]
    for each in sets:
        out = "; ".join(f"{name}: {why}" for name, why in each.left_out.items())
        notes += [f"{_title(each)}, left out: {out}."] if out else []
        notes += [f"{_title(each)}: {said}." for said in _warned(each)]
    if not told:
        return (PlainTable(title="Contacts, from sets of different length", notes=tuple(notes)),)
    units = {name: pretty(told[0].found.parameters[name].unit) for name, _ in _COLUMNS if told[0].found}
    rows = tuple(
        (_title(each), str(len(each.found.names)), _predicted(story, each), *_values(each.found))
        for each in told
        if each.found is not None
    )
    definition = next(each.found.parameters["contact_resistance"].method for each in told if each.found)
    over = [float(volt) for each in told if each.found for volt in each.found.family.overdrive[[0, -1]]]
    contacts = PlainTable(
        title="Contacts and channel, from sets of different length, 95 % intervals",
        heads=(
            "wafer, set",
            "devices",
            f"predicted, as run [{units['contact_resistance']}]",
            *(f"{title} [{units[name]}]" for name, title in _COLUMNS),
        ),
        rows=rows,
        notes=(
            f"Contact resistance: {definition}. Overdrives lie between {min(over):.2g} and {max(over):.2g} V.",
            "It is taken off in the contact corrected mobility of each device of the set.",
            *notes,
        ),
    )
    shares = PlainTable(
        title="Share of the contacts in the resistance by length, at the largest overdrive, 95 % intervals",
        heads=("wafer, set", "lengths as run, shortest first"),
        rows=tuple((_title(each), _shares(each.found)) for each in told if each.found is not None),
    )
    return contacts, shares


def length_pictures(sets: Sequence[LotSet], invented: bool) -> tuple[Picture, ...]:
    """Of each wafer the lines of its widest set."""
    pictures = []
    for wafer in dict.fromkeys(each.wafer for each in sets):
        own = [each for each in sets if each.wafer == wafer and each.found is not None]
        widest = max(own, key=lambda each: each.width, default=None)
        if widest is None or widest.found is None:
            continue
        title = f"Resistance against length, {_title(widest)}"
        others = f"; {len(own)} sets of this wafer stand in the table" if len(own) > 1 else ""
        pictures.append(
            Picture(
                title=title,
                plot=gated_lengths_plot(widest.found, title),
                caption=f"The widest set, whose edges count least{others}. Bands enclose 95 %.",
                invented=invented,
            )
        )
    return tuple(pictures)


def _title(each: LotSet) -> str:
    return f"{each.wafer}, {each.name}"


def _warned(each: LotSet) -> tuple[str, ...]:
    found = each.found
    if found is None:
        return ()
    odd = tuple(f"{name} does not fit: {why}" for name, why in found.outliers.items())
    none = tuple(f"{name} takes no part: {why}" for name, why in found.refused.items())
    return (*found.warnings, *odd, *none)


def _predicted(story: Story, each: LotSet) -> str:
    runs = (
        probed.as_run
        for probed in story.probed
        if (probed.wafer, probed.device) == (each.wafer, each.devices[0])
    )
    run = next(runs, None)
    return "–" if run is None else f"{plain(run.design.contact_resistance, 'ohm*cm'):.3g}"


def _values(found: GatedLengths) -> tuple[str, ...]:
    return tuple(_told(found.parameters[name]) for name, _ in _COLUMNS)


def _told(each: Parameter) -> str:
    """A value with its interval, a bound, or why there is none."""
    if each.value is None:
        return f"cannot tell: {each.why_not}"
    value = _number(each.value, each.unit)
    if each.bound:
        return f"{each.bound} {value}: {each.why_not}"
    ends = each.interval or (
        None if each.std is None else (each.value - Z95 * each.std, each.value + Z95 * each.std)
    )
    span = "" if ends is None else f" ({_number(ends[0], each.unit)} to {_number(ends[1], each.unit)})"
    return value + span if each.valid else f"{each.why_not}{span}"


def _number(value: float, unit: str) -> str:
    return f"{plain(value, unit):.3g}".replace("-", "−")


def _shares(found: GatedLengths) -> str:
    seen = dict(zip(found.family.length.tolist(), found.shares.tolist(), strict=True))
    return "; ".join(
        f"{show(length, 'length')}: {100 * share:.0f} % ({100 * low:.0f} to {100 * high:.0f} %)"
        for length, (share, low, high) in sorted(seen.items())
    )
