"""Results as tables: one row for each curve and parameter, with the unit beside every number.

The same rows become a table for notebooks, comma-separated text, Parquet or HTML.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from filmwright.measure import CurveResult, Geometry, Sweep
from filmwright.outputs.spreadsheet import csv_text, harmless
from filmwright.units import convert

TABLE_KINDS = ("csv", "parquet")

Row = Mapping[str, Any]

_SIZES = (
    ("W [µm]", "width", "um"),
    ("L [µm]", "length", "um"),
    ("C [nF/cm²]", "areal_capacitance", "nF/cm^2"),
)


def parameter_rows(
    results: Sequence[CurveResult], sweeps: Sequence[Sweep] = (), geometries: Sequence[Geometry] = ()
) -> tuple[Row, ...]:
    """One row for each curve and parameter: value, error, unit, definition, window, validity, and whose it is.

    Parameters
    ----------
    results : sequence of CurveResult
    sweeps : sequence of Sweep
        One for each result, or none: device and digest of the file are then empty.
    geometries : sequence of Geometry
        One for each result, or none.
    """
    rows = []
    for at, result in enumerate(results):
        sweep = sweeps[at] if sweeps else None
        sizes = _sizes(geometries[at] if geometries else None)
        own = {
            "file": result.file,
            "sha256": sweep.sha256 if sweep else "",
            "device": sweep.device if sweep else "",
            "sweep": result.sweep,
            "direction": result.direction,
            "type": result.type,
            "drain voltage [V]": result.drain_voltage,
            "bulk voltage [V]": result.bulk_voltage,
            **sizes,
        }
        rows += [{**own, **_reading(name, each)} for name, each in result.parameters.items()]
    return tuple(rows)


def _sizes(geometry: Geometry | None) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    for column, name, unit in _SIZES:
        value = None if geometry is None else getattr(geometry, name)
        found[column] = None if value is None else float(f"{convert(value, unit):.9g}")
    return found


def _reading(name: str, parameter: Any) -> dict[str, Any]:
    fields = parameter.fields()
    window = fields["window"] or {"from": None, "to": None}
    return {
        "parameter": name,
        "value": fields["value"],
        "std": fields["std"],
        "unit": fields["unit"] or "1",
        "bound": fields["bound"],
        "valid": fields["valid"],
        "why not": fields["why_not"],
        "window from [V]": window["from"],
        "window to [V]": window["to"],
        "method": fields["method"],
    }


def plain_rows(rows: Sequence[Row]) -> list[dict[str, Any]]:
    """Rows for spreadsheets: a text that a spreadsheet would run as a formula is marked as text by an apostrophe."""
    return [{key: harmless(value) for key, value in row.items()} for row in rows]


def frame(rows: Sequence[Row]) -> Any:
    """Rows as a pandas table; its ``attrs["units"]`` names the unit of every column that has one in its head.

    Parameters
    ----------
    rows : sequence of mapping

    Returns
    -------
    pandas.DataFrame
    """
    import pandas

    table = pandas.DataFrame([dict(row) for row in rows])
    for column in _number_columns(rows):
        table[column] = table[column].astype("float64")
    table.attrs["units"] = _units(table.columns)
    return table


def _number_columns(rows: Sequence[Row]) -> list[str]:
    """Columns that hold a number or nothing, so that an empty one stays a column of numbers."""
    names = list(rows[0]) if rows else []
    return [
        name
        for name in names
        if name in ("value", "std") or name.endswith("]") or any(isinstance(row[name], float) for row in rows)
    ]


def _units(columns: Sequence[str]) -> dict[str, str]:
    return {name: name[name.rindex("[") + 1 : -1] for name in columns if name.endswith("]")}


def table_bytes(rows: Sequence[Row], kind: str) -> bytes:
    """Rows as a file.

    Parameters
    ----------
    rows : sequence of mapping
    kind : str
        ``csv`` (UTF-8 with its mark, so that spreadsheets read it) or ``parquet`` (units in the metadata of the file).
    """
    if kind == "parquet":
        buffer = io.BytesIO()
        frame(rows).to_parquet(buffer, engine="pyarrow", index=False)
        return buffer.getvalue()
    if kind != "csv":
        raise ValueError(f"a table is written as {' or '.join(TABLE_KINDS)}, not as {kind or 'nothing'}")
    heads: list[Any] = list(rows[0]) if rows else []
    lines = [heads, *([row.get(head) for head in heads] for row in rows)] if rows else []
    return csv_text(lines).encode("utf-8-sig")


def table_html(rows: Sequence[Row], columns: Sequence[str], most: int = 60) -> str:
    """Chosen columns as a plain HTML table for a notebook; of more rows than ``most`` the number is said.

    Parameters
    ----------
    rows : sequence of mapping
    columns : sequence of str
    most : int
    """
    head = "".join(f"<th>{escape(name)}</th>" for name in columns)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(_shown(row[name]))}</td>' for name in columns)}</tr>"
        for row in rows[:most]
    )
    left = f"<p>{len(rows) - most} more rows: .table() has them all.</p>" if len(rows) > most else ""
    return f"<table><tr>{head}</tr>{body}</table>{left}"


def _shown(value: Any) -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}".replace("-", "−") if isinstance(value, float) else str(value)
