"""The checklist fills itself from what the file says, and names what is missing with what is lost for it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from filmwright import units
from filmwright.device import TransistorDesign, drain_current
from filmwright.measure import (
    ChecklistRow,
    Geometry,
    Said,
    checklist_fields,
    device_checklist,
    extract,
    lot_checklist,
    read_conditions,
    read_table,
)

KNOWN = Geometry(
    width=units.to_si(100, "um"), length=units.to_si(10, "um"), areal_capacitance=units.to_si(62, "nF/cm^2")
)
HEADS = {
    "colons": "Date: 2026-05-03\nDelay: 0.05 s\nLight: off\nDark wait: 10 min\nChuck temperature: 25 °C\nHumidity: 41 %\n",
    "cells": "Date,2026-05-03\nDelay (s),0.05\nLight,off\nDark wait,10 min\nChuck temperature,25,°C\nRelative humidity (%),41\n",
    "equals": "# Date = 2026-05-03\n# sweep delay = 0.05 s\n# illumination = off\n# dark time = 10 min\n# Temp = 25 °C\n# RH = 41 %\n",
}


def file(folder: Path, head: str, drain: float = 0.1) -> Path:
    gate = np.linspace(-5.0, 20.0, 51)
    design = TransistorDesign(
        width=1e-4, length=1e-5, areal_capacitance=6.2e-4, mobility=1e-3, threshold_voltage=2.0
    )
    current = drain_current(design, gate, drain)
    rows = "".join(f"{v:g},{drain:g},{i:.6e},1e-12\n" for v, i in zip(gate, current, strict=True))
    path = folder / "T07.csv"
    path.write_text(head + "VG (V),VD (V),ID (A),IG (A)\n" + rows, "utf-8")
    return path


def told(path: Path, geometry: Geometry = KNOWN) -> dict[str, ChecklistRow]:
    sweeps = read_table(path).sweeps
    said = Said(
        sweeps=sweeps, results=extract(sweeps, geometry), geometry=geometry, conditions=read_conditions(path)
    )
    return {row.what: row for row in device_checklist(said)}


@pytest.mark.literature
def test_the_items_of_the_standard_are_asked_for(tmp_path: Path) -> None:
    # Items of IEEE Std 1620-2008 (from memory): W, L, Ci and how measured; VD of each sweep, direction and delay; step and both
    # directions; the regime of the mobility; ambient, light, number of devices.
    rows = told(file(tmp_path, ""))
    for words in (
        "width and length",
        "areal capacitance and how",
        "drain voltage of each",
        "direction",
        "delay",
        "step",
        "definitions",
        "atmosphere",
        "light",
        "number of devices",
    ):
        assert any(words in what for what in rows), words
    assert "linear" in rows["definitions used"].value or "V_D" in rows["definitions used"].value


@pytest.mark.analytic
@pytest.mark.parametrize("form", HEADS)
def test_it_fills_itself_from_the_head_of_the_file(tmp_path: Path, form: str) -> None:
    rows = told(file(tmp_path, HEADS[form]))
    assert "0.05 s" in rows["delay per point or sweep rate"].value
    assert "off" in rows["light, and the wait in the dark"].value
    assert "10 min" in rows["light, and the wait in the dark"].value
    assert "25" in rows["temperature"].value
    assert "41" in rows["atmosphere and humidity"].value
    assert "2026-05-03" in rows["date of the measurement"].value
    assert "line 1" in rows["date of the measurement"].known_from
    assert rows["channel width and length"].value == "W 100 µm, L 10 µm"
    assert rows["directions of the sweep"].value == "forward only: hysteresis cannot be told"
    assert rows["gate voltages: range and step"].value == "-5 to 20 V in steps of 0.5 V"


@pytest.mark.analytic
def test_what_is_missing_is_named_with_what_is_lost(tmp_path: Path) -> None:
    rows = told(file(tmp_path, ""), Geometry())
    for what, lost in (
        ("channel width and length", "mobility"),
        ("areal capacitance and how it is known", "trap density"),
        ("delay per point or sweep rate", "hysteresis"),
        ("light, and the wait in the dark", "off current"),
        ("age of the device and its storage", "drift"),
        ("contacts", "four lengths"),
        ("channel film against contacts", "overstates"),
    ):
        assert rows[what].missing
        assert lost in rows[what].lost
    assert not rows["drain voltage of each sweep"].missing
    wide = told(file(tmp_path, ""), Geometry(fringe=True))
    assert "overstated" in wide["channel film against contacts"].value


@pytest.mark.analytic
def test_a_lot_says_what_differs_and_for_how_many_it_is_missing(tmp_path: Path) -> None:
    one = tuple(told(file(tmp_path, HEADS["colons"])).values())
    two = tuple(told(file(tmp_path, "", drain=1.0)).values())
    rows = {row.what: row for row in lot_checklist([one, two], ("all of the lot", "the record"))}
    assert rows["drain voltage of each sweep"].value == "0.1 V; 1 V"
    assert "missing for 1 of 2 devices" in rows["light, and the wait in the dark"].value
    assert "2 devices measured" in rows["number of devices and how they were chosen"].value
    alone = {row.what: row for row in lot_checklist([one])}
    assert alone["number of devices and how they were chosen"].missing
    fields = checklist_fields(tuple(rows.values()))
    assert {"what", "value", "known_from", "missing", "lost"} == set(fields[0])


@pytest.mark.property
def test_numbers_and_names_of_columns_are_no_statements(tmp_path: Path) -> None:
    path = tmp_path / "T08.csv"
    rows = "".join(f"{t},{v},{v * 1e-9}\n" for t, v in enumerate(np.linspace(0.0, 5.0, 21)))
    path.write_text("Time,Temperature\nTime (s),VG (V),ID (A)\n" + rows, "utf-8")
    assert read_conditions(path) == {}
