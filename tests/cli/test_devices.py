"""The verb that lists devices: for people, for spreadsheets, for programs."""

import csv
import io
from pathlib import Path

import pytest
from rich.console import Console

from filmwright import desk
from filmwright.cli.tables import print_devices


@pytest.mark.whole
def test_devices_lists_all_transistors_with_drawn_and_made_sizes(filmwright, switch: Path):
    fields = filmwright("devices", "my-run/plan.yaml", "--json").fields
    assert fields["counts"]["transistor"] == 63
    by_name = {each["name"]: each for each in fields["devices"]}
    assert {f"T{number:02d}" for number in range(1, 49)} <= set(by_name)
    one = by_name["T01"]
    assert one["width"]["drawn"] == {"value": 20.0, "unit": "um"}
    assert one["length"]["drawn"] == {"value": 5.0, "unit": "um"}
    assert one["length"]["made"]["value"] < 5.0
    assert one["areal_capacitance"]["unit"] == "nF/cm^2"
    assert one["areal_capacitance"]["std"] > 0
    assert one["nets"]["gate"]["labels"] == ["T01:G"]
    assert [each["name"] for each in fields["length_sets"][:3]] == ["L1", "L2", "L3"]
    assert fields["van_der_pauw_crosses"] == ["X1", "X2"]
    assert fields["nets"]["shorted"] == fields["nets"]["unreachable"] == []


@pytest.mark.whole
def test_a_long_list_is_counted_unless_all_is_asked_for(filmwright, switch: Path):
    short = filmwright("devices", "my-run/plan.yaml")
    assert short.code == 0
    assert "63 transistors" in short.out
    assert "T07" not in short.out
    whole = filmwright("devices", "my-run/plan.yaml", "--all").out
    assert "T07" in whole
    table = list(csv.DictReader(io.StringIO(filmwright("devices", "my-run/plan.yaml", "--csv").out)))
    assert len(table) == 68
    assert next(row for row in table if row["name"] == "T48")["width drawn [µm]"] == "200"


@pytest.mark.whole
def test_what_is_wrong_with_the_nets_is_said(filmwright, switch: Path):
    plan = switch / "plan.yaml"
    text = plan.read_text("utf-8")
    # Without the opening no probe reaches a gate.
    start, end = text.index("  - pattern: opening"), text.index("  - pattern: contact")
    plan.write_text(text[:start] + text[end:], "utf-8")
    said = filmwright("devices", "my-run/plan.yaml")
    assert "out of reach" in said.out
    assert "T01:G under aluminium oxide" in said.out
    fields = filmwright("devices", "my-run/plan.yaml", "--json").fields
    assert {"label": "T01:G", "under": "aluminium oxide"} in fields["nets"]["unreachable"]
    assert fields["findings"]


@pytest.mark.whole
@pytest.mark.parametrize("everything", [False, True])
def test_the_list_fits_a_terminal_of_a_hundred_columns(switch: Path, everything: bool):
    paper = io.StringIO()
    print_devices(desk.devices(switch / "plan.yaml", everything=everything), Console(file=paper, width=100))
    lines = paper.getvalue().splitlines()
    assert len(lines) > 30
    assert max(map(len, lines)) <= 100


@pytest.mark.whole
def test_the_lines_of_a_thermometer_have_width_length_and_squares(filmwright):
    assert filmwright("new", "thermometer", "--example", "platinum-thermometer").code == 0
    fields = filmwright("devices", "thermometer/plan.yaml", "--json").fields
    lines = [each for each in fields["devices"] if each["kind"] == "track"]
    assert [each["name"] for each in lines] == ["R1", "R2", "R3"]
    for each in lines:
        assert each["squares"] == pytest.approx(
            each["length"]["made"]["value"] / each["width"]["made"]["value"], rel=1e-4
        )
    assert "3 resistor lines" in filmwright("devices", "thermometer/plan.yaml").out


@pytest.mark.whole
def test_a_film_under_finger_pairs_is_no_cross(filmwright):
    assert filmwright("new", "line", "--example", "delay-line").code == 0
    assert "2 films between contacts" in filmwright("devices", "line/plan.yaml").out
    assert filmwright("devices", "line/plan.yaml", "--json").fields["van_der_pauw_crosses"] == []


@pytest.mark.whole
def test_lengths_at_one_width_fit_eighty_columns_uncut(switch: Path):
    paper = io.StringIO()
    print_devices(desk.devices(switch / "plan.yaml"), Console(file=paper, width=80))
    said = paper.getvalue()
    sets = said[said.index("Lengths at one width") : said.index("Crosses for")]
    assert "…" not in sets
    assert "L1" in sets
    assert max(map(len, sets.splitlines())) <= 80
