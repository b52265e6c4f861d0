"""Parameters of transfer curves in lines: one short line each, reasons gathered; many curves as a table."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from filmwright.units import pretty

FEW = 3
"""Curves up to which every parameter is listed unasked."""

_BOUNDS = {"at least": "≥ ", "at most": "≤ "}
_SHORT = {
    "threshold voltage": "threshold",
    "less half drain": "less V_D/2",
    "half overdrive": "½ overdrive",
}
_MARKS = {"apparent": "apparent", "upper bound": "at most"}
"""Words of a definition that stand beside the name, because the number alone says too much."""

_ARROWS = {"forward": "→", "backward": "←"}
_KEYS = "abcdefghijklmnopqrstuvwxyz"


def print_curves(curves: Sequence[Mapping[str, Any]], *, everything: bool, console: Console) -> None:
    """Every parameter of a few curves, or the chief ones of many; definitions where everything is asked for."""
    if not curves:
        return
    if everything or len(curves) <= FEW:
        for curve in curves:
            _print_curve(curve, console)
    else:
        _print_many(curves, console)
    if everything:
        _print_definitions(curves, console)
        return
    more = "every parameter and its definition" if len(curves) > FEW else "with the definitions"
    console.print(Text(f"--all: {more}; --json, --csv: for programs.", style="dim"))


def _print_curve(curve: Mapping[str, Any], console: Console) -> None:
    head = f"  {curve['sweep']}, {curve['direction']}, {curve['type']}-type"
    console.print(Text.assemble((f"{curve['file']}", "bold"), head), soft_wrap=True)
    print_parameters(curve["parameters"], console)
    _warn(curve["warnings"], console)


def print_parameters(parameters: Mapping[str, Mapping[str, Any]], console: Console) -> None:
    """A line for each value or bound, with its window; what is not given by its reason."""
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 1, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    bounds: dict[str, list[str]] = {}
    refused: dict[str, list[str]] = {}
    for name, row in parameters.items():
        known = row["valid"] or (row["bound"] and row["value"] is not None)
        if known:
            style = "" if row["valid"] else "yellow"
            marks = [said for mark, said in _MARKS.items() if mark in row["method"]]
            window = "" if row["window"] is None else _span(row["window"])
            words = ", ".join([words_of(name), *marks])
            table.add_row(Text(words), Text(value_of(row), style=style), Text(window, style="dim"))
        if not row["valid"]:
            (bounds if known else refused).setdefault(row["why_not"], []).append(words_of(name))
    if table.row_count:
        console.print(Padding(table, (0, 0, 0, 3)))
    _print_reasons("bounds only", bounds, console)
    _print_reasons("not given", refused, console)


def _print_reasons(head: str, reasons: Mapping[str, Sequence[str]], console: Console) -> None:
    if not reasons:
        return
    console.print(Text(f"   {head}", style="yellow"))
    for why, names in reasons.items():
        line = Text.assemble(("· ", "dim"), f"{', '.join(names)}: ", (why, "dim"))
        console.print(Padding(line, (0, 0, 0, 5)))


def _warn(warnings: Sequence[str], console: Console) -> None:
    for warning in warnings:
        console.print(Padding(Text(f"▲ {warning}", style="yellow"), (0, 0, 0, 3)))


def words_of(name: str) -> str:
    """The name of a parameter as it is printed in a narrow column."""
    words = name.replace("_", " ")
    for long, short in _SHORT.items():
        words = words.replace(long, short)
    return words


def value_of(row: Mapping[str, Any]) -> str:
    """A value or bound with its standard error and unit."""
    spread = "" if row["std"] is None else f" ± {row['std']:.2g}"
    return f"{_BOUNDS.get(row['bound'], '')}{row['value']:.4g}{spread} {pretty(row['unit'])}".rstrip()


def _span(window: Mapping[str, Any]) -> str:
    low, high = f"{window['from']:.3g}", f"{window['to']:.3g}"
    return f"at {low} {window['unit']}" if low == high else f"{low} … {high} {window['unit']}"


def _print_many(curves: Sequence[Mapping[str, Any]], console: Console) -> None:
    """Tables of the chief parameters: one for each file of several curves, one for files of one curve each."""
    keys = dict(
        zip(dict.fromkeys(name for curve in curves for name in curve["classes"]), _KEYS, strict=False)
    )
    groups: list[tuple[str, list[Mapping[str, Any]]]] = []
    for file, found in itertools.groupby(curves, key=lambda curve: str(curve["file"])):
        alike = list(found)
        if len(alike) > 1 or not groups or groups[-1][0]:
            groups.append((file if len(alike) > 1 else "", alike))
        else:
            groups[-1][1].extend(alike)
    for file, alike in groups:
        if file:
            console.print(Text.assemble((file, "bold"), f"  {len(alike)} curves"), soft_wrap=True)
        labels = _labels(alike) if file else [Path(curve["file"]).name for curve in alike]
        console.print(Padding(_chief(alike, labels, "curve" if file else "file", keys), (0, 0, 0, 1)))
    _print_legend(curves, keys, console)


def _chief(
    curves: Sequence[Mapping[str, Any]], labels: Sequence[str], head: str, keys: Mapping[str, str]
) -> Table:
    heads = (
        head,
        "V_D\nV",
        "",
        "V_T\nV",
        f"µ\n{pretty('cm^2/(V*s)')}",
        "swing\nV/decade",
        "on/off",
        "hyster.\nV",
        "▲",
    )
    columns = list(
        zip(heads, *(_cells(*each, keys) for each in zip(labels, curves, strict=True)), strict=True)
    )
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="dim")
    shown = [cells for cells in columns if set(cells[1:]) - {"", "–"}]
    for name, *_ in shown:
        first, last = name == head, name == "▲"
        table.add_column(
            name,
            justify="left" if first or last or not name else "right",
            max_width=24 if first else None,
            no_wrap=not (first or last),
            overflow="fold",
        )
    for row in zip(*(cells[1:] for cells in shown), strict=True):
        table.add_row(*map(Text, row))
    return table


def _cells(label: str, curve: Mapping[str, Any], keys: Mapping[str, str]) -> tuple[str, ...]:
    found, drain = curve["parameters"], curve["drain_voltage"]
    return (
        label,
        "?" if drain is None else f"{drain:.4g}",
        f"{curve['type']} {_ARROWS.get(curve['direction'], '')}",
        _cell(found.get("threshold_voltage")),
        _mobility(found),
        _cell(found.get("subthreshold_swing")),
        _power(found.get("on_off_ratio")),
        _cell(found.get("hysteresis")),
        "".join(keys.get(name, "…") for name in curve["classes"]),
    )


def _mobility(found: Mapping[str, Any]) -> str:
    """That of the linear region where it is given, else that of saturation."""
    for name, mark in (("field_effect_mobility", "lin"), ("saturation_mobility", "sat")):
        if _given(found.get(name)):
            return f"{_cell(found[name])} {mark}"
    return "–"


def _labels(curves: Sequence[Mapping[str, Any]]) -> list[str]:
    """What sets the curves of a file apart beside drain voltage and direction, which have columns of their own."""
    parts = [
        [part for part in curve["sweep"].split(", ") if not part.startswith(("VD ", "gate ", "cut out"))]
        for curve in curves
    ]
    common = set.intersection(*map(set, parts))
    return [", ".join(part for part in each if part not in common) for each in parts]


def _given(row: Mapping[str, Any] | None) -> bool:
    return row is not None and row["value"] is not None and bool(row["valid"] or row["bound"])


def _cell(row: Mapping[str, Any] | None) -> str:
    """A value with its error in as few signs as the error allows."""
    if row is None or not _given(row):
        return "–"
    if row["std"] is None:
        return f"{_BOUNDS.get(row['bound'], '')}{row['value']:.3g}"
    spread = f"{row['std']:.1g}"
    places = len(spread.partition(".")[2])
    value = f"{row['value']:.3g}" if "e" in spread else f"{row['value']:.{places}f}"
    return f"{value}±{spread}"


def _power(row: Mapping[str, Any] | None) -> str:
    """A ratio to one digit."""
    if row is None or not _given(row):
        return "–"
    digit, _, power = f"{row['value']:.0e}".partition("e")
    return f"{_BOUNDS.get(row['bound'], '').strip()}{digit}e{int(power)}"


def _print_legend(curves: Sequence[Mapping[str, Any]], keys: Mapping[str, str], console: Console) -> None:
    """What the short columns and letters mean, and how often what was noticed stands beside a curve."""
    if any(curve["classes"] for curve in curves):
        counted = {name: sum(name in curve["classes"] for curve in curves) for name in keys}
        said = "; ".join(f"{key} {name} ({counted[name]})" for name, key in keys.items())
        console.print(Text(f"▲ {said}", style="yellow"))
    noticed = (
        warning
        for curve in curves
        for warning in curve["warnings"]
        if warning.partition(":")[0] not in curve["classes"]
    )
    _warn([_first_of(texts) for texts in _alike(noticed)], console)
    for name, others in (
        ("V_T", ("threshold_voltage",)),
        ("µ", ("field_effect_mobility", "saturation_mobility")),
    ):
        reasons = [
            curve["parameters"][others[0]]["why_not"]
            for curve in curves
            if not any(_given(curve["parameters"].get(other)) for other in others)
        ]
        for texts in _alike(reasons):
            console.print(Text(f"{name} not given: {_first_of(texts)}"))
    meaning = (
        "→ forward, ← backward. V_T by the tangent of the region (linear: without V_D/2); µ apparent, contacts not taken off; "
        "hysteresis at a tenth of the on current; ± one standard deviation; – not given; ? not known."
    )
    console.print(Text(meaning, style="dim"))


def _alike(texts: Iterable[str]) -> list[list[str]]:
    """Sentences put together that differ in their numbers alone."""
    found: dict[str, list[str]] = {}
    for text in texts:
        found.setdefault(re.sub(r"\d[\d.e+-]*", "0", text), []).append(text)
    return list(found.values())


def _first_of(texts: Sequence[str]) -> str:
    """What was noticed at several curves, said once."""
    if len(texts) == 1:
        return texts[0]
    return f"{len(texts)} curves: {texts[0]}" + (
        " (the first; numbers differ)" if len(set(texts)) > 1 else ""
    )


def _print_definitions(curves: Sequence[Mapping[str, Any]], console: Console) -> None:
    """What each name means, once; where it differs between the curves, every meaning."""
    found: dict[str, dict[str, None]] = {}
    for curve in curves:
        for name, row in curve["parameters"].items():
            if _given(row):
                found.setdefault(name, {})[row["method"]] = None
    console.print(Text("Definitions", style="bold"))
    for name, methods in found.items():
        line = Text.assemble(f"{words_of(name)}: ", ("; or ".join(methods), "dim"))
        console.print(Padding(line, (0, 0, 0, 3)))
