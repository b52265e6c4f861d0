"""Every shape that benches write gives the curves that were put in: by the meaning of names, never by position."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from filmwright.errors import BadInput
from filmwright.measure import Measurement, Sweep, read_table

GATE = np.round(np.linspace(-2.0, 8.0, 41), 3)
DRAINS = (0.1, 5.0)


def current(gate: np.ndarray, drain: float, scale: float = 1.0) -> np.ndarray:
    """An invented device: what matters here is that it comes back as it went in."""
    over = np.maximum(gate - 1.0, 0.0)
    return scale * (1e-7 * np.minimum(drain, over) * (over - np.minimum(drain, over) / 2) + 1e-11)


def joined(rows: Sequence[Sequence[object]], separator: str = ",", decimal: str = ".") -> str:
    def word(cell: object) -> str:
        return f"{cell:.9g}".replace(".", decimal) if isinstance(cell, float) else str(cell)

    return "\n".join(separator.join(word(cell) for cell in row) for row in rows) + "\n"


def stacked(drains: Sequence[float] = DRAINS) -> list[list[float]]:
    return [
        [float(v), drain, float(i), 1e-12]
        for drain in drains
        for v, i in zip(GATE, current(GATE, drain), strict=True)
    ]


def beside(drains: Sequence[float] = DRAINS, scale: float = 1.0) -> list[list[float]]:
    return [[float(v), *(float(current(v, drain, scale)) for drain in drains)] for v in GATE]


def read(tmp_path: Path, content: bytes | str, name: str = "curve.csv") -> Measurement:
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_table(path)


def assert_both(sweeps: Sequence[Sweep], drains: Sequence[float] = DRAINS) -> None:
    assert [each.drain_voltage for each in sweeps] == [pytest.approx(each) for each in drains]
    for sweep, drain in zip(sweeps, drains, strict=True):
        np.testing.assert_allclose(sweep.gate_voltage, GATE, atol=1e-9)
        np.testing.assert_allclose(sweep.drain_current, current(GATE, drain), rtol=1e-6)


NAMES = "VG (V),VD (V),ID (A),IG (A)\n"
METADATA = "".join(
    f"{word}{number},{number * 0.5:g},{unit}\n" if number % 3 else f"{word}{number},{number}\n"
    for number, (word, unit) in enumerate(
        [("Start", "V"), ("Integration", "s"), ("Range", "A"), ("Points", "")] * 60
    )
)
LOOKS_TABULAR = (
    "Channel,Voltage name,Current name,Mode\nC1,VG,IG,sweep\nC2,VD,ID,step\nName,VG,VD\nStart,-2,0.1\nStop,8,5\nStep,0.25,4.9\n"
    "Compliance,0.001,0.01\n"
)
TURNED = [[row[2], row[3], row[0], row[1]] for row in stacked()]
BOTH: dict[str, bytes | str] = {
    "a column for each voltage": NAMES + joined(stacked()),
    "other order": "ID (A),IG (A),VG (V),VD (V)\n" + joined(TURNED),
    "preamble of 240 lines with keys and values": METADATA + NAMES + joined(stacked()),
    "preamble that looks like a table": LOOKS_TABULAR + "\n" + NAMES + joined(stacked()),
    "cp1252 preamble, decimal comma": "Gerät;Prüfplatz 3\nFeuchte;40 %\n".encode("cp1252")
    + ("VG (V);VD (V);ID (A);IG (A)\n" + joined(stacked(), ";", ",")).encode("cp1252"),
    "utf-16, tabs, decimal comma": ("VG\tVD\tID\tIG\n" + joined(stacked(), "\t", ",")).encode("utf-16"),
    "bars": "VG|VD|ID|IG\n" + joined(stacked(), "|"),
    "bars, decimal comma": "VG|VD|ID|IG\n" + joined(stacked(), "|", ","),
    "blanks, decimal comma": "VG   VD   ID   IG\n" + joined(stacked(), "   ", ","),
    "quoted cells with decimal comma": '"VG (V)","VD (V)","ID (A)","IG (A)"\n'
    + "".join(",".join(f'"{cell:.9g}"'.replace(".", ",") for cell in row) + "\n" for row in stacked()),
    "thousands and decimal comma": "VG (mV);VD (mV);ID (pA)\n"
    + "".join(
        ";".join(f"{cell:,.3f}".translate(str.maketrans(",.", ".,")) for cell in (r[0] * 1e3, r[1] * 1e3, r[2] * 1e12))
        + "\n"
        for r in stacked()
    ),
    "unit row above the names": "V,V,A,A\nVG,VD,ID,IG\n" + joined(stacked()),
    "unit row below the names": "VG,VD,ID,IG\n(mV),(V),(nA),(A)\n"
    + joined([[r[0] * 1e3, r[1], r[2] * 1e9, r[3]] for r in stacked()]),
    "power of ten as unit": "VG (V),VD (V),ID (10^-6 A)\n" + joined([[r[0], r[1], r[2] * 1e6] for r in stacked()]),
    "names in two rows": "Gate,Drain,Drain,Gate\nVoltage,Voltage,Current,Current\nV,V,A,A\n" + joined(stacked()),
    "suffixes": "VG,VD,ID\n"
    + "".join(f"{r[0] * 1e3:.9g}m,{r[1] * 1e3:.9g}m,{r[2] * 1e9:.9g}n\n" for r in stacked()),
    "exponents with D": NAMES + joined(stacked()).replace("e-", "D-"),
    "wide, bias in the name": "VG (V),ID @ VD=0.1 V,ID @ VD=5 V\n" + joined(beside()),
    "wide, bias in the name, with brackets": "VGS (V);I_D(V_DS=0,1V) (nA);I_D(V_DS=5V) (nA)\n"
    + joined(beside(scale=1e9), ";", ","),
    "wide, bias without a terminal": "VG (V),ID (0.1 V),ID (5 V)\n" + joined(beside()),
    "wide, bias row above": "VDS (V),0.1,5\nVG (V),ID (A),ID (A)\n" + joined(beside()),
    "wide, bias row below": "VG (V),ID (A),ID (A)\nVDS (V),0.1,5\n" + joined(beside()),
    "wide, biases written above": ",VD = 100 mV,VD = 5 V\nVG (V),ID (A),ID (A)\n" + joined(beside()),
    "matrix": "drain current (A)\nVG (V) \\ VD (V),0.1,5\n" + joined(beside()),
    "groups beside each other": "GateV(1),DrainI(1),DrainV(1),GateV(2),DrainI(2),DrainV(2)\n"
    + joined([[r[0], r[1], 0.1, r[0], r[2], 5.0] for r in beside()]),
    "groups without an index": "VG,VD,ID,VG,VD,ID\n" + joined([[r[0], 0.1, r[1], r[0], 5.0, r[2]] for r in beside()]),
    "blocks with repeated names": "\n\n".join(
        f"VD = {drain} V\nVG,ID\n" + joined([[r[0], r[2]] for r in stacked([drain])]) for drain in DRAINS
    ),
    "blocks without repeated names": "VG (V),ID (A)\n"
    + "".join(f"VD: {drain} V\n" + joined([[r[0], r[2]] for r in stacked([drain])]) for drain in DRAINS),
    "blocks parted by an empty line alone": NAMES + "\n\n".join(joined(stacked([drain])) for drain in DRAINS),
    "points alternate between the biases": NAMES
    + joined([[float(v), drain, float(current(v, drain)), 1e-12] for v in GATE for drain in DRAINS]),
    "on its side": joined([[name, *column] for name, column in zip(("VG", "VD", "ID", "IG"), zip(*stacked(), strict=True), strict=True)]),
    "sizes beside signed currents": "VG,VD,|ID|,ID,log(ID)\n"
    + joined([[r[0], r[1], abs(r[2]), r[2], float(np.log10(r[2]))] for r in stacked()]),
    "programmed beside measured": "VG set (V),VG meas (V),VD (V),ID (A)\n"
    + joined([[r[0] + 0.05, r[0], r[1], r[2]] for r in stacked()]),
    "comment column at the end": NAMES + joined([[*r, "fine"] for r in stacked()]),
    "trailing separators": NAMES.strip() + ",\n" + joined([[*r, ""] for r in stacked()]),
    "the source current alone": "VG,VD,IS\n" + joined([[r[0], r[1], -r[2]] for r in stacked()]),
    "everything referred to a source at 10 V": "VG,VD,VS,ID\n" + joined([[r[0] + 10, r[1] + 10, 10.0, r[2]] for r in stacked()]),
    "VGS and VDS beside a source at 10 V": "VGS,VDS,VS,ID\n" + joined([[r[0], r[1], 10.0, r[2]] for r in stacked()]),
    "a source stated above": "Source voltage: 10 V\nVG,VD,ID\n" + joined([[r[0] + 10, r[1] + 10, r[2]] for r in stacked()]),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", BOTH)
def test_every_shape_gives_both_curves(tmp_path: Path, shape: str) -> None:
    assert_both(read(tmp_path, BOTH[shape]).sweeps)


def mirrored(rows: Sequence[Sequence[float]], signs: Sequence[int]) -> str:
    return joined([[cell * sign for cell, sign in zip(row, signs, strict=True)] for row in rows])


P_TYPES: dict[str, str] = {
    "negative voltages": "VG,VD,ID,IG\n" + mirrored(stacked(), (-1, -1, -1, 1)),
    "negative voltages, current as size": "VG,VD,abs(ID),IG\n" + mirrored(stacked(), (-1, -1, 1, 1)),
    "source to gate": "VSG,VSD,ID\n" + mirrored([r[:3] for r in stacked()], (1, 1, -1)),
    "source to gate, current from source to drain": "VSG (V),VSD (V),ISD (A)\n" + joined([r[:3] for r in stacked()]),
    "source at 10 V": "VG,VD,VS,ID\n" + joined([[10 - r[0], 10 - r[1], 10.0, -r[2]] for r in stacked()]),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", P_TYPES)
def test_p_type_in_every_reference_is_the_mirror_image(tmp_path: Path, shape: str) -> None:
    sweeps = read(tmp_path, P_TYPES[shape]).sweeps
    assert [each.drain_voltage for each in sweeps] == [pytest.approx(-each) for each in DRAINS]
    for sweep, drain in zip(sweeps, DRAINS, strict=True):
        np.testing.assert_allclose(sweep.gate_voltage, -GATE[::-1], atol=1e-9)
        np.testing.assert_allclose(np.abs(sweep.drain_current), current(GATE, drain)[::-1], rtol=1e-6)


def double(drain: float = 5.0, back: float = 1.2) -> list[list[float]]:
    there = [[float(v), drain, float(i)] for v, i in zip(GATE, current(GATE, drain), strict=True)]
    return there + [[v, d, i * back] for v, d, i in there[::-1]]


DIRECTIONS: dict[str, str] = {
    "turning point": "VG,VD,ID\n" + joined(double()),
    "a column of words": "direction,VG,VD,ID\n"
    + joined([["forward" if at < len(GATE) else "reverse", *r] for at, r in enumerate(double())]),
    "a column of signs": "VG,VD,ID,Dir\n" + joined([[*r, 1 if at < len(GATE) else -1] for at, r in enumerate(double())]),
    "the way back sorted like the way there": "VG,VD,ID,direction\n"
    + joined([[*r, "up"] for r in double()[: len(GATE)]] + [[*r, "down"] for r in double()[len(GATE) :][::-1]]),
    "a column for each direction": "VG,VD,ID fwd,ID bwd\n"
    + joined([[*r, r[2] * 1.2] for r in double()[: len(GATE)]]),
    "points alternate between the directions": "VG,VD,ID,direction\n"
    + joined([[*r[:2], r[2] * k, w] for r in double()[: len(GATE)] for k, w in ((1.0, "fwd"), (1.2, "rev"))]),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", DIRECTIONS)
def test_both_directions_are_told_and_paired(tmp_path: Path, shape: str) -> None:
    one, two = read(tmp_path, DIRECTIONS[shape]).sweeps
    assert (one.rising, two.rising) == (True, False)
    assert one.pair == two.pair >= 0
    np.testing.assert_allclose(one.drain_current, current(GATE, 5.0), rtol=1e-6)
    np.testing.assert_allclose(two.drain_current, 1.2 * current(GATE, 5.0), rtol=1e-6)


HEATS = (280.0, 300.0, 320.0)


def heated(heat: float) -> list[list[float]]:
    return [[v, d, i * heat / 300] for v, d, i in double()]


TEMPERATURES: dict[str, str] = {
    "a column in K": "T (K),VG,VD,ID\n" + joined([[heat, *r] for heat in HEATS for r in heated(heat)]),
    "a measured column in °C": "VG,VD,ID,Temperature (°C)\n"
    + joined([[*r, heat - 273.15 + 0.05 * (at % 3)] for heat in HEATS for at, r in enumerate(heated(heat))]),
    "stated above each block": "".join(f"\nTemperature: {heat:g} K\nVG,VD,ID\n" + joined(heated(heat)) for heat in HEATS),
    "stated above each block with a sign of equality": "".join(
        f"T = {heat - 273.15:.2f} °C\nVG,VD,ID\n" + joined(heated(heat)) for heat in HEATS
    ),
    "stated in two cells": "".join(f"Temperature (K),{heat:g}\nVG,VD,ID\n" + joined(heated(heat)) for heat in HEATS),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", TEMPERATURES)
def test_double_sweeps_over_temperature_keep_theirs(tmp_path: Path, shape: str) -> None:
    sweeps = read(tmp_path, TEMPERATURES[shape]).sweeps
    assert [each.temperature for each in sweeps] == [
        pytest.approx(h, abs=0.1) for h in HEATS for _ in range(2)
    ]
    assert [each.rising for each in sweeps] == [True, False] * 3
    assert len({each.pair for each in sweeps}) == 3
    for sweep, heat in zip(sweeps[::2], HEATS, strict=True):
        np.testing.assert_allclose(sweep.drain_current, current(GATE, 5.0) * heat / 300, rtol=1e-6)


DEVICES = ("T01", "T02", "T03")


def of(number: int) -> list[list[float]]:
    return [[float(v), 5.0, float(i) * number] for v, i in zip(GATE, current(GATE, 5.0), strict=True)]


SEVERAL: dict[str, str] = {
    "a column": "Device,VG,VD,ID\n" + joined([[d, *r] for n, d in enumerate(DEVICES, 1) for r in of(n)]),
    "a column, rows of the devices alternating": "VG,VD,ID,DUT\n"
    + joined([[*of(n)[at], d] for at in range(len(GATE)) for n, d in enumerate(DEVICES, 1)]),
    "a title above each block": "".join(f"\n{d}\nVG,VD,ID\n" + joined(of(n)) for n, d in enumerate(DEVICES, 1)),
    "stated above each block": "".join(f"Device: {d}\nVG,VD,ID\n" + joined(of(n)) for n, d in enumerate(DEVICES, 1)),
    "stated in two cells": "".join(f"Sample,{d}\nVG,VD,ID\n" + joined(of(n)) for n, d in enumerate(DEVICES, 1)),
    "titles above groups": "T01,,,T02,,,T03,,\n" + "VG,VD,ID," * 2 + "VG,VD,ID\n"
    + joined([[c for n in (1, 2, 3) for c in of(n)[at]] for at in range(len(GATE))]),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", SEVERAL)
def test_several_devices_in_a_file_are_told_apart(tmp_path: Path, shape: str) -> None:
    sweeps = read(tmp_path, SEVERAL[shape]).sweeps
    assert [each.device for each in sweeps] == list(DEVICES)
    for number, sweep in enumerate(sweeps, 1):
        np.testing.assert_allclose(sweep.drain_current, number * current(GATE, 5.0), rtol=1e-6)


@pytest.mark.analytic
def test_width_and_length_come_from_columns_and_from_lines_above(tmp_path: Path) -> None:
    rows = [[w, 10.0, *r] for w in (50.0, 100.0) for r in of(1)]
    one, two = read(tmp_path, "W (um),L (um),VG,VD,ID\n" + joined(rows)).sweeps
    assert (one.width, two.width, one.length) == (
        pytest.approx(50e-6),
        pytest.approx(1e-4),
        pytest.approx(1e-5),
    )
    (stated,) = read(tmp_path, "W = 50 um, L = 10 µm\nVG,VD,ID\n" + joined(of(1))).sweeps
    assert (stated.width, stated.length) == (pytest.approx(50e-6), pytest.approx(1e-5))
    (bare,) = read(tmp_path, "W = 50\nL = 10\nVG,VD,ID\n" + joined(of(1))).sweeps
    assert (bare.width, bare.length) == (None, None)


def limited(mark: Callable[[list[float]], Sequence[object]], names: str = "VG,VD,ID", above: str = "") -> str:
    rows = [list(mark(r)) if r[0] > 7.0 else [*r, *[""] * (names.count(",") - 2)] for r in of(1)]
    return above + names + "\n" + joined(rows)


LIMITED: dict[str, str] = {
    "9.9e37": limited(lambda r: [r[0], r[1], 9.9e37]),
    "9.91E+37": limited(lambda r: [r[0], r[1], "9.91E+37"]),
    "OVLD": limited(lambda r: [r[0], r[1], "OVLD"]),
    "stars": limited(lambda r: [r[0], r[1], "****"]),
    "a word at the number": limited(lambda r: [r[0], r[1], "1.0e-3 compl"]),
    "a column of flags": limited(lambda r: [*r, "C"], "VG,VD,ID,Compliance"),
    "a column of ones": limited(lambda r: [*r, 1], "VG,VD,ID,compliance").replace(",\n", ",0\n"),
    "a stated limit": limited(lambda r: [r[0], r[1], 1e-6], above="ID compliance (A),1e-6\n"),
}  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("shape", LIMITED)
def test_limited_points_are_left_out_and_said(tmp_path: Path, shape: str) -> None:
    (sweep,) = read(tmp_path, LIMITED[shape]).sweeps
    assert sweep.left_out is not None
    gone = (
        GATE[GATE > 7.0]
        if shape != "a stated limit"
        else GATE[(GATE > 7.0) | (current(GATE, 5.0) >= 0.999e-6)]
    )
    np.testing.assert_allclose(sweep.left_out, gone)
    np.testing.assert_allclose(sweep.gate_voltage, np.setdiff1d(GATE, gone))
    assert "over range or limited" in sweep.warnings[0]


@pytest.mark.analytic
def test_points_measured_twice_are_averaged_and_said(tmp_path: Path) -> None:
    rows = [r for v, d, i in of(1) for r in ([v, d, i * 0.9], [v, d, i * 1.1])]
    (sweep,) = read(tmp_path, "VG,VD,ID\n" + joined(rows)).sweeps
    np.testing.assert_allclose(sweep.drain_current, current(GATE, 5.0), rtol=1e-6)
    assert "averaged" in sweep.warnings[0]


@pytest.mark.analytic
@pytest.mark.parametrize("head", ["VD,VGS = 2 V,VGS = 4 V,VGS = 6 V", "VD (V),ID (2 V),ID (4 V),ID (6 V)"])
def test_wide_output_curves_keep_the_gate_voltage_of_their_column(tmp_path: Path, head: str) -> None:
    drains = np.linspace(0.0, 6.0, 31)
    rows = [[float(vd), *(float(current(np.array(vg), vd)) for vg in (2.0, 4.0, 6.0))] for vd in drains]
    measurement = read(tmp_path, head + "\n" + joined(rows))
    assert [each.gate_voltage for each in measurement.output_curves] == [2.0, 4.0, 6.0]
    np.testing.assert_allclose(measurement.output_curves[1].drain_current, [r[2] for r in rows], rtol=1e-6)


@pytest.mark.analytic
def test_output_curves_in_both_directions_are_paired(tmp_path: Path) -> None:
    way = np.concatenate([np.linspace(0, 6, 31), np.linspace(6, 0, 31)])
    rows = [[vg, float(vd), float(current(np.array(vg), vd))] for vg in (2.0, 4.0, 6.0, 8.0) for vd in way]
    curves = read(tmp_path, "VG,VD,ID\n" + joined(rows)).output_curves
    assert [each.direction for each in curves] == ["forward", "backward"] * 4
    assert len({each.pair for each in curves}) == 4


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("VG,ID\n" + "0,1,2,5e-9\n" * 9, "more numbers than names"),
        ("VG (V),ID (µA/µm)\n" + joined([r[:2] for r in stacked()]), "no drain current"),
        ("VG (V),ID (V),VD (V)\n" + joined([r[:3] for r in stacked()]), "no drain current"),
        ("VG,VD,log(ID)\n" + joined([r[:3] for r in stacked()]), "no drain current"),
    ],
)  # fmt: skip
def test_what_would_be_silent_nonsense_is_refused(tmp_path: Path, text: str, words: str) -> None:
    from filmwright.errors import BadInput

    with pytest.raises(BadInput, match=words):
        read(tmp_path, text)


@pytest.mark.analytic
def test_the_raw_file_is_known_by_its_digest(tmp_path: Path) -> None:
    import hashlib

    text = NAMES + joined(stacked())
    measurement = read(tmp_path, text)
    assert {measurement.sha256, *(each.sha256 for each in measurement.sweeps)} == {
        hashlib.sha256(text.encode()).hexdigest()
    }


DEVICES_IN_NAMES = {
    "before": ("T01 ID (A)", "T02 ID (A)"),
    "after": ("ID_T01 (A)", "ID_T02 (A)"),
    "in brackets": ("Id(T01)", "Id(T02)"),
    "with a colon": ("T01:ID/A", "T02:ID/A"),
}


@pytest.mark.analytic
@pytest.mark.parametrize("names", DEVICES_IN_NAMES.values(), ids=DEVICES_IN_NAMES)
def test_a_wide_table_names_its_devices_above_the_columns(tmp_path: Path, names: tuple[str, str]) -> None:
    gate = np.linspace(-2.0, 8.0, 51)
    one, two = 1e-6 * np.maximum(gate, 0.01) ** 2, 2e-6 * np.maximum(gate, 0.01) ** 2
    rows = [f"{v:.2f},{a:.6e},{b:.6e}" for v, a, b in zip(gate, one, two, strict=True)]
    place = tmp_path / "wide.csv"
    place.write_text(f"VG (V),{names[0]},{names[1]}\n" + "\n".join(rows) + "\n")
    found = read_table(place).sweeps
    assert [each.device for each in found] == ["T01", "T02"]
    for each, current in zip(found, (one, two), strict=True):
        np.testing.assert_allclose(each.drain_current, current, rtol=1e-6)


@pytest.mark.analytic
@pytest.mark.parametrize("names", ["VG ID_VD5 ID_VD10", "Vg Id1 Id2"])
def test_a_bias_or_a_number_behind_a_name_is_no_device(tmp_path: Path, names: str) -> None:
    place = tmp_path / "wide.txt"
    place.write_text(names + "\n" + "".join(f"{v / 5:.2f} {v}e-7 {v}e-6\n" for v in range(1, 40)))
    try:
        found = read_table(place).sweeps
    except BadInput:
        return
    assert {each.device for each in found} <= {""}


@pytest.mark.analytic
def test_names_with_units_in_brackets_stand_one_blank_apart(tmp_path: Path) -> None:
    gate = np.linspace(-2.0, 8.0, 51)
    current = 1e-6 * np.maximum(gate, 0.01) ** 2
    place = tmp_path / "lifted.txt"
    rows = [f"{v + 2:.2f} 2.00 2.10 {i:.6e}" for v, i in zip(gate, current, strict=True)]
    place.write_text("Vgate(V) Vsource(V) Vdrain(V) Idrain(A)\n" + "\n".join(rows) + "\n")
    (found,) = read_table(place).sweeps
    assert found.drain_voltage == pytest.approx(0.1)
    np.testing.assert_allclose(found.gate_voltage, np.round(gate, 2), atol=1e-9)
    np.testing.assert_allclose(found.drain_current, current, rtol=1e-6)
