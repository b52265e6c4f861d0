"""What a notebook shows of a curve and of its result: a plain table. Pictures are drawn by ``outputs``, above this room."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from filmwright import units

if TYPE_CHECKING:
    from filmwright.measure.curves import Sweep
    from filmwright.measure.results import CurveResult


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]], title: str) -> str:
    first = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><caption>{escape(title)}</caption><tr>{first}</tr>{body}</table>"


def result_html(result: CurveResult) -> str:
    """Every parameter with its error, unit, window and definition; a refused one with its reason."""
    rows = []
    for name, each in result.parameters.items():
        fields = each.fields()
        known = fields["value"] is not None and (each.valid or bool(each.bound))
        spread = "" if fields["std"] is None else f" ± {fields['std']:.2g}"
        value = f"{each.bound} {fields['value']:.4g}{spread} {each.unit}".strip() if known else "not given"
        window = "" if each.window is None else f"{each.window[0]:.4g} to {each.window[1]:.4g} V"
        rows.append((name.replace("_", " "), value, window, each.why_not or each.method))
    title = f"{result.file} {result.sweep}, {result.direction}, {result.type}-type".strip()
    return _table(("parameter", "value", "window", "definition, or why not"), rows, title)


def sweep_html(sweep: Sweep) -> str:
    """What a curve is: device, biases, ranges, file."""

    def ends(values: object, dimension: str) -> str:
        low, high = (
            units.show(float(each), dimension)
            for each in (min(values), max(values))  # type: ignore[call-overload]
        )
        return f"{low} to {high}"

    rows = [
        ("device", sweep.device or "not named"),
        ("points", str(len(sweep.gate_voltage))),
        ("gate voltage", ends(sweep.gate_voltage, "voltage")),
        ("drain current", ends(sweep.drain_current, "current")),
        (
            "gate current",
            "not measured" if sweep.gate_current is None else ends(sweep.gate_current, "current"),
        ),
        (
            "drain voltage",
            "not known" if sweep.drain_voltage is None else units.show(sweep.drain_voltage, "voltage"),
        ),
        ("direction", "gate voltage rising" if sweep.rising else "gate voltage falling"),
        ("SHA-256 of the file", sweep.sha256 or "not read from a file"),
    ]
    return _table(("", ""), [(name, text) for name, text in rows], f"{sweep.file} {sweep.label}".strip())
