"""What the report says of many devices together: yield, medians, what is left out, maps, sizes, splits, leakage, what goes with what."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace

from filmwright.desk.explain import SHOWN, Story, cause, good, linear, saturated
from filmwright.desk.lot_lengths import CORRECTED
from filmwright.desk.population import half_die, outcomes_of, units_of
from filmwright.desk.population_answers import StatisticsAnswer, leak_shown
from filmwright.learn import DeviceOutcome, SplitComparison, population, robust, yield_by_cause
from filmwright.outputs import (
    Estimate,
    Picture,
    Place,
    PlainTable,
    Replicate,
    YieldRow,
    correlation_plot,
    map_plot,
    split_plot,
)
from filmwright.units import convert, pretty

MAPPED = "threshold_voltage"
"""The parameter that the report draws over the die; the others stand in its tables."""


def without_left_out(story: Story) -> Story:
    """The story without the devices that a person excluded."""
    return replace(story, probed=tuple(each for each in story.probed if not each.left_out))


def yields(story: Story) -> tuple[YieldRow, ...]:
    """How many devices share each fate, by wafer."""
    outcomes = [
        DeviceOutcome(device=each.device, wafer=each.wafer, cause=cause(each))
        for each in {(one.wafer, one.device): one for one in story.probed}.values()
    ]
    if not outcomes:
        return ()
    summary = yield_by_cause(outcomes)
    assert summary.devices == len(outcomes)  # a device that is not counted would flatter the yield
    rows = Counter((each.cause or "works", each.wafer) for each in outcomes)
    return tuple(
        YieldRow(cause=name, count=count, works=name == "works", split=wafer)
        for (name, wafer), count in rows.items()
    )


def medians(story: Story) -> tuple[Estimate, ...]:
    """Medians over working devices, with the interval that the ordered values give."""
    units = units_of([result for each in story.probed for result in each.results])
    found = []
    for name in (*SHOWN, CORRECTED):
        values = _readings(story, name)
        if len(values) < 3:
            continue
        told = robust(values)
        known = math.isfinite(told.low)
        definition = next(
            (each.results[0].parameters[name].method for each in story.probed if each.results), ""
        )
        found.append(
            Estimate(
                name=name.replace("_", " "),
                unit=units.get(name, "").replace("/decade", ""),
                value=told.median,
                low=told.low if known else None,
                high=told.high if known else None,
                count=told.count,
                definition=f"median over working devices; {definition}",
            )
        )
    return tuple(found)


def _readings(story: Story, name: str) -> list[float]:
    found = []
    for each in story.probed:
        place = saturated(each) if name == "saturation_mobility" else linear(each)
        if good(each) and place is not None:
            parameter = each.results[place].parameters[name]
            if parameter.valid and parameter.value is not None:
                found.append(parameter.value)
    return found


@dataclass(frozen=True, kw_only=True)
class Many:
    """What the devices of a lot tell together, ready to print: tables, maps of the threshold, and what they rest on."""

    tables: tuple[PlainTable, ...] = ()
    maps: tuple[Picture, ...] = ()
    figures: tuple[Picture, ...] = ()


def many(story: Story) -> Many:
    """Everything that the devices of a lot tell together."""
    outcomes, notes = outcomes_of(story)
    if not any(not each.left_out for each in outcomes):
        return Many()
    answer = StatisticsAnswer(
        title=story.lot.name,
        told=population(outcomes, half_die(story)),
        outcomes=tuple(outcomes),
        units=units_of([result for each in story.probed for result in each.results]),
        over="die",
        notes=tuple(notes),
    )
    parts = (_left_out, _groups, _maps, _sizes, _splits, _leakage, _correlation)
    found = [part(answer) for part in parts] if len(outcomes) > 1 else []
    return Many(
        tables=tuple(each for each in found if each is not None),
        maps=_map_pictures(answer, story.invented),
        figures=_figures(answer, story.invented),
    )


def _map_pictures(answer: StatisticsAnswer, invented: bool) -> tuple[Picture, ...]:
    """The threshold over the die of each wafer, with what does not fit ringed and the fitted part as lines."""
    pictures = []
    for found in answer.told.maps:
        if found.parameter != MAPPED or not found.count:
            continue
        places = [
            Place(x=each.x, y=each.y, value=each.value, label=each.device, why_not=each.cause)
            for each in found.points
        ]
        plot = map_plot(
            places,
            size=2 * found.radius,
            name=_said(MAPPED),
            unit=answer.unit(MAPPED),
            mark="die",
            outliers=found.outliers,
            fitted=found.at if found.parts else None,
        )
        # Below three devices of some size nothing is taken off, and a note of the table says so.
        level = "" if answer.told.notes else "each drawn size is brought to one level; "
        rest = "lines: fitted gradient and bowl; rings: devices that do not fit; " if found.parts else ""
        pictures.append(
            Picture(
                title=f"Threshold over the probed die, wafer {found.wafer}",
                plot=plot,
                caption=f"{level}{rest}crosses gave no value: point at one for its cause.".capitalize(),
                invented=invented,
            )
        )
    return tuple(pictures)


def _figures(answer: StatisticsAnswer, invented: bool) -> tuple[Picture, ...]:
    """Every device by wafer and split, and the matrix of correlations."""
    working = [each for each in answer.outcomes if not each.cause and not each.left_out]
    own = [each for each in working if MAPPED in each.parameters]
    places = list(dict.fromkeys((each.split, each.wafer) for each in own))
    pictures = []
    if len(places) > 1:
        replicates = [
            Replicate(
                split=split or "no split",
                wafer=wafer,
                values=tuple(
                    each.parameters[MAPPED] for each in own if (each.split, each.wafer) == (split, wafer)
                ),
                names=tuple(each.device for each in own if (each.split, each.wafer) == (split, wafer)),
            )
            for split, wafer in sorted(places)
        ]
        plot = split_plot(replicates, name=_said(MAPPED), unit=answer.unit(MAPPED))
        pictures.append(Picture(title="Threshold of every working device", plot=plot, invented=invented))
    found = answer.told.correlation
    if found is not None and any(each.rank is not None for each in found.pairs):
        plot = correlation_plot([_said(name) for name in found.names], found.array())
        pictures.append(
            Picture(
                title="What goes with what",
                plot=plot,
                caption="Spearman’s coefficient"
                + (", the median of each wafer taken off." if found.within else "."),
                invented=invented,
            )
        )
    return tuple(pictures)


def _said(name: str) -> str:
    return name.replace("_", " ")


def _digits(value: float | None) -> str:
    return "–" if value is None or not math.isfinite(value) else f"{value:.3g}".replace("-", "−")


def _left_out(answer: StatisticsAnswer) -> PlainTable | None:
    told = answer.told
    if not told.left_out:
        return None
    rows = [
        (
            f"median {_said(name)} [{pretty(answer.unit(name)) or '1'}]",
            _digits(answer.shown(name, told.summary.medians[name].median))
            if name in told.summary.medians
            else "–",
            _digits(answer.shown(name, each.median)),
        )
        for name, each in told.with_left_out.medians.items()
    ]
    return PlainTable(
        title=f"{len(told.left_out)} of {told.with_left_out.devices} devices are excluded",
        heads=("what it does", "without them", "with them"),
        rows=tuple(rows),
        notes=tuple(f"{each.wafer} {each.device}: {each.reason}" for each in told.left_out),
    )


def _groups(answer: StatisticsAnswer) -> PlainTable | None:
    names = list(answer.told.summary.medians)[:6]
    rows = [
        (
            f"{each.by} {each.name}" if each.by != "size" else each.name,
            f"{each.working} of {each.devices}",
            *(
                _digits(answer.shown(name, each.medians[name].median)) if name in each.medians else "–"
                for name in names
            ),
        )
        for each in answer.told.groups
    ]
    if not rows:
        return None
    heads = (f"{_said(name)} [{pretty(answer.unit(name)) or '1'}]" for name in names)
    return PlainTable(
        title="Medians by wafer, split and drawn size",
        heads=("which", "work", *heads),
        rows=tuple(rows),
        notes=answer.told.summary.warnings,
    )


def _maps(answer: StatisticsAnswer) -> PlainTable | None:
    rows: list[tuple[str, ...]] = []
    for found in answer.told.maps:
        name = found.parameter
        first = f"{_said(name)} [{pretty(answer.level_unit(name)) or '1'}], {found.wafer}"
        if not found.parts:
            rows.append((first, "cannot tell", "cannot tell", "", found.why_not))
            continue
        cells = []
        for each in found.parts:
            rise, low, high = (answer.level(name, value) for value in (each.rise, each.low, each.high))
            at = f", towards {math.degrees(each.direction):.0f}°" if each.part == "gradient" else ""
            cells.append(
                f"{_digits(rise)} ({_digits(low)} to {_digits(high)}){at}"
                if each.verdict == "there"
                else f"not distinguishable from zero (at most {_digits(max(abs(low), abs(high)))})"
            )
        rest = _digits(None if found.residual is None else answer.level(name, found.residual))
        rows.append((first, *cells, rest, ", ".join(found.outliers) or "none"))
    if not rows:
        return None
    criterion = answer.told.maps[0].criterion
    return PlainTable(
        title="Over the die: rise from the middle to the rim, 95 % intervals",
        heads=("parameter, wafer", "gradient", "bowl", "residual", "do not fit"),
        rows=tuple(rows),
        notes=(f"Here {criterion}.", *answer.told.notes, *answer.notes),
    )


def _sizes(answer: StatisticsAnswer) -> PlainTable | None:
    rows: list[tuple[str, ...]] = []
    for name, effects in answer.told.sizes.items():
        for pair in (effects[:2], effects[2:]):
            known = [each for each in pair if each.change is not None]
            unit = pretty(answer.level_unit(name)) or "1"
            if not known:
                rows.append((f"{_said(name)} [{unit}]", pair[0].axis, "cannot tell", pair[0].why_not))
                continue
            each = min(known, key=lambda one: one.residual or 0.0)
            change, low, high = (
                answer.level(name, value or 0.0) for value in (each.change, each.low, each.high)
            )
            span = f"{convert(each.largest, 'um'):.3g} to {convert(each.smallest, 'um'):.3g} µm"
            rows.append(
                (
                    f"{_said(name)} [{unit}]",
                    f"{each.axis}, {span}",
                    f"{_digits(change)} ({_digits(low)} to {_digits(high)})",
                    each.verdict + hint(name, each.axis, each.change or 0.0, each.verdict == "goes with it"),
                )
            )
    if not rows:
        return None
    return PlainTable(
        title="With length and width: change from the largest to the smallest, 95 % intervals",
        heads=("parameter", "against", "change", "verdict"),
        rows=tuple(rows),
        notes=(
            "Each wafer has a level of its own; of the size and its inverse the one that fits better stands here.",
        ),
    )


def hint(name: str, axis: str, change: float, there: bool) -> str:
    """What a dependence on size is usually evidence of."""
    if not there:
        return ""
    if "mobility" in name and axis.endswith("L") and change < 0:
        return ": evidence of contact resistance; sets of different length tell how much"
    if name == "threshold_voltage" and axis.endswith("L"):
        return ": roll-off, or a length that is not what was drawn"
    if axis.endswith("W"):
        return ": edges of the channel carry more or less than its middle"
    return ""


def _splits(answer: StatisticsAnswer) -> PlainTable | None:
    study = answer.told.splits
    refused = [
        f"{each.first} and {each.second} were {each.why_not}" for each in answer.told.checks if each.refused
    ]
    said = [
        f"{each.first} and {each.second} were not measured alike: {'; '.join(str(one) for one in each.said)}"
        for each in answer.told.checks
        if each.said
    ]
    if study is None:
        notes = (*refused, *said)
        return PlainTable(title="Measured differently", notes=notes) if notes else None
    return PlainTable(
        title="Splits, compared by wafer, 95 % intervals",
        heads=("parameter", "second less first", "difference", "verdict", "wafers", "would show"),
        rows=tuple(_pair(answer, each) for each in study.comparisons),
        notes=(
            f"{study.correction} ({study.told}); “would show”: the true difference that so many wafers show in four lots of five.",
            *answer.told.confounded,
            *dict.fromkeys(warning for each in study.comparisons for warning in each.warnings),
            *refused,
            *said,
        ),
    )


def _pair(answer: StatisticsAnswer, each: SplitComparison) -> tuple[str, ...]:
    name = each.parameter
    difference, low, high = (answer.level(name, value) for value in (each.difference, each.low, each.high))
    verdict = {True: "differs", False: "no difference shown", None: "cannot tell"}[each.called]
    chance = "" if each.adjusted is None else f" (p {_digits(each.adjusted)}, corrected)"
    span = f" ({_digits(low)} to {_digits(high)})" if each.called is not None else ""
    return (
        f"{_said(name)} [{pretty(answer.level_unit(name)) or '1'}]",
        f"{each.second} less {each.first}",
        f"{_digits(difference)}{span}",
        verdict + chance,
        f"{each.wafers[0]} and {each.wafers[1]}" + (f", within {each.blocks}" if each.blocks else ""),
        "–" if each.detectable is None else _digits(answer.level(name, each.detectable)),
    )


def _leakage(answer: StatisticsAnswer) -> PlainTable | None:
    found = answer.told.leakage
    if found is None:
        return None
    units = {"area": "A/cm²", "edge": "A/cm", "each device": "A"}
    rows = tuple(
        (
            f"{each.part} [{units[each.part]}]",
            f"{leak_shown(each.part, each.value):.2g}",
            f"{leak_shown(each.part, each.low):.2g} to {leak_shown(each.part, each.high):.2g}",
            f"{100 * each.share:.0f} %",
            each.verdict,
        )
        for each in found.shares
    )
    wild = ", ".join(" ".join(place) for place in found.outliers)
    notes = (
        f"Cannot tell: {found.why_not}." if found.why_not else "",
        f"Do not fit: {wild}." if wild else "",
        f"What would tell: {found.what_would_tell}." if found.what_would_tell else "",
    )
    return PlainTable(
        title="Gate leakage, shared out between area, edge and what every device has",
        heads=("part", "value", "95 % interval", "of a typical device", "verdict") if rows else (),
        rows=rows,
        notes=tuple(note for note in notes if note),
    )


def _correlation(answer: StatisticsAnswer) -> PlainTable | None:
    found = answer.told.correlation
    if found is None:
        return None
    rows = tuple(
        (
            f"{_said(each.first)} and {_said(each.second)}",
            _digits(each.rank),
            f"{_digits(each.low)} to {_digits(each.high)}",
            str(each.pairs),
        )
        for each in found.pairs
        if each.goes_together
    )
    tried = sum(each.adjusted is not None for each in found.pairs)
    within = "; the median of each wafer is taken off" if found.within else ""
    return PlainTable(
        title="What goes with what (Spearman)",
        heads=("parameters", "coefficient", "95 % interval", "devices") if rows else (),
        rows=rows,
        notes=(f"{len(rows)} of {tried} pairs. {found.correction}{within}.",),
    )
