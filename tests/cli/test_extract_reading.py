"""extract: what was understood is told, corrected once, kept; devices and sizes come from names, tables and the lot."""

from pathlib import Path

import numpy as np
import pytest

from filmwright import desk

GATE = np.round(np.linspace(-2.0, 8.0, 41), 3)


def table(names: str = "VG (V),VD (V),ID (A),IG (A)", scale: float = 1.0, above: str = "") -> str:
    current = scale * (1e-7 * np.maximum(GATE - 1, 0) + 1e-11)
    rows = "".join(f"{v:g},0.1,{i:.6g},{1e-12:g}\n" for v, i in zip(GATE, current, strict=True))
    return f"{above}{names}\n{rows}"


def topics(said) -> dict[str, str]:
    (told,) = said.fields["explanations"]
    return {line["topic"]: line["text"] for line in told["lines"]}


@pytest.mark.whole
def test_what_was_understood_is_told(filmwright, tmp_path: Path):
    text = (
        table("VG (V);VD (V);ID (nA);log ID", 1e9, "Device: T07\nTemperature: 300 K\n")
        .replace(",", ";")
        .replace(".", ",")
    )
    (tmp_path / "T07.csv").write_text(text, "utf-8")
    told = topics(filmwright("extract", "T07.csv", "--explain", "--json"))
    assert "separator semicolon" in told["text"]
    assert 'decimal sign ","' in told["text"]
    assert "drain current, in nA" in told['column "ID (nA)"']
    assert "derived" in told['column "log ID"']
    assert "device T07" in told["block 1"]
    assert "41 points" in told["transfer curve"]
    assert len(told["shape"].partition(",")[0]) == 12
    shown = filmwright("extract", "T07.csv", "--explain")
    assert shown.code == 0
    assert "drain current" in shown.out


@pytest.mark.whole
def test_a_correction_is_kept_and_picked_up_by_itself(filmwright, tmp_path: Path):
    for name, scale in (("one.csv", 1e6), ("two.csv", 2e6)):
        (tmp_path / name).write_text(table("V1,V2,I1,I2", scale), "utf-8")
    assert filmwright("extract", "one.csv").code == 2
    words = [
        w
        for text in ("V1 = gate voltage, V", "V2 = drain voltage, V", "I1 = drain current, uA")
        for w in ("--read-as", text)
    ]
    kept = filmwright("extract", "one.csv", *words, "--keep-as", "bench 2", "--json")
    assert kept.code == 0
    assert kept.fields["written"] == ["reading-rules.toml"]
    second = filmwright("extract", "two.csv", "--json")
    assert second.code == 0
    largest = second.fields["curves"][0]["parameters"]["transconductance_max"]["value"]
    assert largest == pytest.approx(
        2 * kept.fields["curves"][0]["parameters"]["transconductance_max"]["value"]
    )
    assert topics(filmwright("extract", "two.csv", "--explain", "--json"))["reading rule"] == '"bench 2"'
    again = filmwright("extract", "one.csv", *words, "--keep-as", "bench 3")
    assert again.code == 2
    assert '"bench 2" in reading-rules.toml' in again.err


@pytest.mark.whole
def test_a_wrong_rule_is_told_at_its_line(filmwright, tmp_path: Path):
    (tmp_path / "T07.csv").write_text(table(), "utf-8")
    (tmp_path / "reading-rules.toml").write_text(
        '["a"]\nshape = "0123456789ab"\ncolumns."I2" = "gate curent"\n', "utf-8"
    )
    said = filmwright("extract", "T07.csv")
    assert said.code == 2
    assert "reading-rules.toml:3" in said.err
    assert 'did you mean "gate current"' in said.err


@pytest.mark.whole
def test_sizes_come_from_file_names_by_a_stated_pattern(filmwright, tmp_path: Path):
    (tmp_path / "W1-T07_w100_l10.csv").write_text(table(), "utf-8")
    (tmp_path / "other.csv").write_text(table(), "utf-8")
    pattern = "{wafer}-{device}_w{width:um}_l{length:um}"
    said = filmwright(
        "extract",
        "W1-T07_w100_l10.csv",
        "other.csv",
        "--name-pattern",
        pattern,
        "--capacitance",
        "62 nF/cm^2",
        "--json",
    )
    assert said.code == 0
    one, other = said.fields["curves"]
    assert (one["device"], one["wafer"], one["width"]["value"]) == ("T07", "W1", pytest.approx(100))
    assert one["width"]["from"] == "table or file name"
    assert one["areal_capacitance"]["from"] == "option"
    assert one["parameters"]["field_effect_mobility"]["value"] is not None
    assert other["width"] == "not known"
    assert other["parameters"]["field_effect_mobility"]["value"] is None
    assert any("does not follow" in line for line in said.fields["noticed"])
    wrong = filmwright("extract", "other.csv", "--name-pattern", "{devise}")
    assert wrong.code == 2
    assert 'did you mean "device"' in wrong.err


@pytest.mark.whole
def test_sizes_come_from_the_drawing_of_the_lot(filmwright, tmp_path: Path, shipped: Path):
    record = tmp_path / "record.sqlite"
    lot = desk.run(shipped / "humidity-switch" / "plan.yaml", record=record).lot
    drawn = next(
        each
        for each in desk.devices(shipped / "humidity-switch" / "plan.yaml").devices
        if each.device.kind == "transistor" and each.device.name
    )
    (tmp_path / f"{drawn.device.name}.csv").write_text(table(), "utf-8")
    said = filmwright(
        "extract",
        f"{drawn.device.name}.csv",
        "--name-pattern",
        "{device}",
        "--lot",
        lot,
        "--record",
        record,
        "--json",
    )
    assert said.code == 0
    (curve,) = said.fields["curves"]
    assert curve["width"]["from"] == "drawing of the lot"
    assert curve["width"]["value"] == pytest.approx(drawn.device.width * 1e6, rel=0.2)
    (tmp_path / "T99X.csv").write_text(table(), "utf-8")
    none = filmwright(
        "extract", "T99X.csv", "--name-pattern", "{device}", "--lot", lot, "--record", record, "--json"
    )
    assert none.fields["curves"][0]["width"] == "not known"
    assert any("no transistor on the drawing" in line for line in none.fields["noticed"])


@pytest.mark.whole
def test_a_probing_order_that_is_one_row_off_is_told_and_not_corrected(filmwright, tmp_path: Path):
    widths = [20, 50, 100, 200] * 5
    names = []
    for at, width in enumerate(widths):
        name = f"T{at:02d}_w{width}_l10.csv"
        (tmp_path / name).write_text(table(scale=widths[(at + 1) % len(widths)] / 100), "utf-8")
        names.append(name)
    said = filmwright("extract", *names, "--name-pattern", "{device}_w{width:um}_l{length:um}", "--json")
    assert any("1 row later" in line and "nothing was changed" in line for line in said.fields["noticed"])
    assert said.fields["curves"][0]["width"]["value"] == pytest.approx(20)
