"""What many devices tell together, for a terminal of 100 columns."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from filmwright.desk import StatisticsAnswer
from filmwright.units import convert, pretty

if TYPE_CHECKING:
    from filmwright.learn import Robust

_MOST = 12
"""Rows of a list that may be long."""


def print_statistics(answer: StatisticsAnswer, console: Console) -> None:
    """Yield first, then medians, then what the devices tell together."""
    if answer.as_csv:
        sys.stdout.write(answer.csv_text())
        return
    _yield(answer, console)
    _left_out(answer, console)
    _groups(answer, console)
    _maps(answer, console)
    _sizes(answer, console)
    _splits(answer, console)
    _leakage(answer, console)
    _correlation(answer, console)
    for note in (*answer.told.summary.warnings, *answer.told.notes, *answer.notes):
        _line(console, f"· {note}", "dim")


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style), soft_wrap=True)


def _head(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, style="bold"))


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for at, head in enumerate(heads):
        table.add_column(Text(head), justify="left" if at == 0 else "right", no_wrap=at == 0)
    return table


def _row(table: Table, *cells: str) -> None:
    """A row whose square brackets are units, not styles."""
    table.add_row(*(Text(cell) for cell in cells))


def _titled(answer: StatisticsAnswer, name: str) -> str:
    return f"{_said(name)} [{pretty(answer.unit(name)) or '1'}]"


def _said(name: str) -> str:
    return name.replace("_", " ")


def _digits(value: float | None) -> str:
    return "–" if value is None or not math.isfinite(value) else f"{value:.3g}"


def _between(low: float, high: float) -> str:
    return f"{_digits(low)} to {_digits(high)}" if math.isfinite(low) and math.isfinite(high) else "none"


def _yield(answer: StatisticsAnswer, console: Console) -> None:
    summary = answer.told.summary
    many = "s" if summary.wafers != 1 else ""
    _line(console, f"{answer.title}: {summary.devices} devices on {summary.wafers} wafer{many}", "bold")
    table = _table("   fate", "devices", "share", "95 %")
    for each in summary.causes:
        _row(
            table,
            f"   {each.cause}",
            str(each.count),
            f"{100 * each.share:.0f} %",
            f"{100 * each.low:.0f} to {100 * each.high:.0f} %",
        )
    console.print(table)
    _head(console, "Medians of those that work (95 % interval of the median; spread: 1.48 × MAD)")
    table = _table("   parameter", "median", "interval", "spread", "devices")
    for name, median in summary.medians.items():
        _row(table, f"   {_titled(answer, name)}", *_median_cells(answer, name, median))
    console.print(table)


def _median_cells(answer: StatisticsAnswer, name: str, each: Robust) -> tuple[str, ...]:
    shown = [answer.shown(name, value) for value in (each.median, each.spread)]
    low, high = (
        answer.shown(name, value) if math.isfinite(value) else math.inf for value in (each.low, each.high)
    )
    return _digits(shown[0]), _between(low, high), _digits(shown[1]), str(each.count)


def _left_out(answer: StatisticsAnswer, console: Console) -> None:
    told = answer.told
    if not told.left_out:
        return
    _head(console, f"{len(told.left_out)} of {told.with_left_out.devices} devices are excluded")
    for each in told.left_out[:_MOST]:
        _line(console, f"   {each.wafer} {each.device}: {each.reason}")
    table = _table("   median", "without them", "with them")
    for name, median in told.with_left_out.medians.items():
        without = told.summary.medians.get(name)
        _row(
            table,
            f"   {_titled(answer, name)}",
            "–" if without is None else _digits(answer.shown(name, without.median)),
            _digits(answer.shown(name, median.median)),
        )
    console.print(table)


def _groups(answer: StatisticsAnswer, console: Console) -> None:
    first = list(answer.told.summary.medians)[:4]
    for by in ("split", "wafer", "kind", "size"):
        own = [each for each in answer.told.groups if each.by == by]
        if not own:
            continue
        _head(console, f"By {by}: medians")
        table = _table(f"   {by}", "work", *(_titled(answer, n) for n in first))
        for each in own[:40]:
            cells = [
                _digits(answer.shown(name, each.medians[name].median)) if name in each.medians else "–"
                for name in first
            ]
            _row(table, f"   {each.name}", f"{each.working} of {each.devices}", *cells)
        console.print(table)


def _maps(answer: StatisticsAnswer, console: Console) -> None:
    if not answer.told.maps:
        return
    _head(console, f"Over the {answer.over}: rise from the middle to the rim (95 %)")
    for found in answer.told.maps:
        name, unit = found.parameter, pretty(answer.level_unit(found.parameter))
        where = f"   {_said(name)}, wafer {found.wafer}"
        if not found.parts:
            _line(console, f"{where}: cannot tell, {found.why_not}", "dim")
            continue
        parts = []
        for each in found.parts:
            rise, low, high = (answer.level(name, value) for value in (each.rise, each.low, each.high))
            towards = f" towards {math.degrees(each.direction):.0f}°" if each.part == "gradient" else ""
            parts.append(
                f"{each.part} {_digits(rise)} ({_between(low, high)}) {unit}{towards}"
                if each.verdict == "there"
                else f"{each.part} {each.verdict} (at most {_digits(max(abs(low), abs(high)))} {unit})"
            )
        out = f"; do not fit: {', '.join(found.outliers)}" if found.outliers else ""
        _line(console, f"{where}: {'; '.join(parts)}{out}")


def _sizes(answer: StatisticsAnswer, console: Console) -> None:
    told = {name: effects for name, effects in answer.told.sizes.items() if effects}
    if not told:
        return
    _head(console, "With length and width: change from the largest to the smallest (95 %)")
    for name, effects in told.items():
        for pair in (effects[:2], effects[2:]):
            known = [each for each in pair if each.change is not None]
            if not known:
                _line(console, f"   {_said(name)} with {pair[0].axis}: cannot tell, {pair[0].why_not}", "dim")
                continue
            each = min(known, key=lambda one: one.residual or 0.0)
            change, low, high = (
                answer.level(name, value or 0.0) for value in (each.change, each.low, each.high)
            )
            span = f"{convert(each.largest, 'um'):.3g} to {convert(each.smallest, 'um'):.3g} µm"
            relative = "" if each.relative is None else f", {100 * each.relative:+.0f} %"
            verdict = "" if each.verdict == "goes with it" else f": {each.verdict}"
            _line(
                console,
                f"   {_said(name)} with {each.axis}, {span}: {_digits(change)} ({_between(low, high)}) "
                f"{pretty(answer.level_unit(name))}{relative}{verdict}",
            )


def _splits(answer: StatisticsAnswer, console: Console) -> None:
    told = answer.told
    for check in told.checks:
        if not check.comparable:
            _line(console, f"▲ {check.first} and {check.second} were {check.why_not}", "yellow")
        elif check.said:
            said = "; ".join(str(each) for each in check.said)
            _line(console, f"▲ {check.first} and {check.second} were not measured alike: {said}", "yellow")
    if told.splits is None:
        return
    _head(console, "Splits, compared by wafer")
    for each in told.splits.comparisons:
        name, unit = each.parameter, pretty(answer.level_unit(each.parameter))
        where = f"   {_said(name)}, {each.second} less {each.first}"
        if each.called is None:
            why = "; ".join(each.warnings) or "too few wafers"
            _line(console, f"{where}: cannot tell; {why}", "dim")
            continue
        difference, low, high = (answer.level(name, v) for v in (each.difference, each.low, each.high))
        seen = (
            ""
            if each.detectable is None
            else f"; {_digits(answer.level(name, each.detectable))} {unit} would show"
        )
        verdict = "differs" if each.called else "no difference shown"
        _line(
            console,
            f"{where}: {_digits(difference)} ({_between(low, high)}) {unit}, {verdict}, p {_digits(each.adjusted)} "
            f"corrected; {each.wafers[0]} and {each.wafers[1]} wafers{seen}",
        )
        for warning in each.warnings:
            _line(console, f"      ▲ {warning}", "yellow")
    _line(console, f"   {told.splits.correction} ({told.splits.told})", "dim")
    for text in told.confounded:
        _line(console, f"   ▲ {text}", "yellow")


def _leakage(answer: StatisticsAnswer, console: Console) -> None:
    fields = answer.fields()["leakage"]
    if fields is None:
        return
    _head(console, "Gate leakage, shared out (95 %)")
    if fields["why_not"]:
        _line(console, f"   cannot tell: {fields['why_not']}", "dim")
    for each in fields["shares"]:
        _line(
            console,
            f"   {each['part']}: {each['value']:.2g} ({each['low']:.2g} to {each['high']:.2g}) {pretty(each['unit'])}, "
            f"{100 * each['share_of_typical_device']:.0f} % of a typical device: {each['verdict']}",
        )
    if fields["outliers"]:
        some = ", ".join(fields["outliers"][:6]) + (" …" if len(fields["outliers"]) > 6 else "")
        _line(console, f"   {len(fields['outliers'])} do not fit: {some}")
    if fields["what_would_tell"]:
        _line(console, f"   What would tell: {fields['what_would_tell']}", "dim")


def _correlation(answer: StatisticsAnswer, console: Console) -> None:
    found = answer.told.correlation
    if found is None:
        return
    together = [each for each in found.pairs if each.goes_together]
    _head(console, "What goes with what (Spearman, 95 %)")
    for each in together[:_MOST]:
        _line(
            console,
            f"   {_said(each.first)} and {_said(each.second)}: {_digits(each.rank)} "
            f"({_between(each.low or 0.0, each.high or 0.0)}), {each.pairs} devices",
        )
    tried = sum(each.adjusted is not None for each in found.pairs)
    _line(console, f"   {len(together)} of {tried} pairs; {found.correction}", "dim")


PRINTERS: dict[type, Callable[[Any, Console], None]] = {StatisticsAnswer: print_statistics}
