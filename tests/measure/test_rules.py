"""A reading that was corrected once is kept under a name and picked up for the next table of that shape."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from filmwright.errors import BadInput
from filmwright.measure import explain_table, read_pattern, read_rules, read_table, rule_text, shape_of_file
from filmwright.measure.rules import Rule, rules_from_text, with_corrections

GATE = np.round(np.linspace(-2.0, 8.0, 21), 3)
CURRENT = 1e-7 * np.maximum(GATE, 0.0) ** 2 + 1e-11


def table(names: str = "V1,V2,I1,I2", scale: float = 1.0) -> str:
    rows = "".join(
        f"{v:g},5,{i * scale:.6g},{0.25 * k:g}\n" for k, (v, i) in enumerate(zip(GATE, CURRENT, strict=True))
    )
    return f"# bench 2\n{names}\n{rows}"


CORRECTIONS = (
    "V1 = gate voltage, V",
    "V2 = drain voltage, V",
    "I1 = drain current, µA",
    "I2 = gate current, nA",
)


@pytest.mark.analytic
def test_a_correction_is_kept_and_used_for_the_next_table_of_the_shape(tmp_path: Path) -> None:
    first, second, other = (tmp_path / name for name in ("one.csv", "two.csv", "other.csv"))
    first.write_text(table(scale=1e6))
    second.write_text(table(scale=2e6))
    other.write_text(table("VG,VD,ID,IG"))
    with pytest.raises(BadInput, match="no drain current"):
        read_table(first)
    rule = with_corrections(Rule(name='bench 2, "new"', shape=shape_of_file(first)), CORRECTIONS)
    (tmp_path / "reading-rules.toml").write_text(rule_text(rule), "utf-8")
    rules = read_rules(tmp_path / "reading-rules.toml")
    assert rules == (rule,)
    for path, times in ((first, 1), (second, 2)):
        (sweep,) = read_table(path, rules).sweeps
        np.testing.assert_allclose(sweep.drain_current, times * CURRENT, rtol=1e-5)
        assert sweep.gate_current is not None
        np.testing.assert_allclose(sweep.gate_current, 0.25e-9 * np.arange(21), rtol=1e-9, atol=1e-20)
        assert 'bench 2, "new"' in str(explain_table(path, rules))
    # A table of another shape is read as before.
    np.testing.assert_allclose(read_table(other, rules).sweeps[0].drain_current, CURRENT, rtol=1e-5)


@pytest.mark.analytic
def test_a_table_without_names_is_named_by_a_rule(tmp_path: Path) -> None:
    path = tmp_path / "bare_vd5.csv"
    path.write_text(
        "\n".join(
            f"{k};{v:g};{i:.6g}".replace(".", ",") for k, (v, i) in enumerate(zip(GATE, CURRENT, strict=True))
        )
    )
    with pytest.raises(BadInput, match="without column names"):
        read_table(path)
    corrections = ("names = ignore; gate voltage, V; drain current, A", "file-name = {*}_vd{drain-voltage:V}")
    rule = with_corrections(Rule(name="bare", shape=shape_of_file(path)), corrections)
    (sweep,) = read_table(path, rules_from_text(rule_text(rule), "r.toml")).sweeps
    np.testing.assert_allclose(sweep.drain_current, CURRENT, rtol=1e-5)
    assert sweep.drain_voltage == 5.0


@pytest.mark.analytic
def test_the_shape_does_not_depend_on_digits_case_or_what_parts_the_names(tmp_path: Path) -> None:
    shapes = set()
    for number, text in enumerate(
        (table("VG,VD=1V,VD=2V,IG"), table("vg ,VD=0.1V,VD=5V,ig"), table().replace("V1,V2,I1,I2", "x,y,z,u"))
    ):
        path = tmp_path / f"{number}.csv"
        path.write_text(text)
        shapes.add(shape_of_file(path))
    assert len(shapes) == 3  # 1 and 0.1 differ in their digits' form
    (tmp_path / "a.csv").write_text(table("VG,VD=7V,VD=25V,IG"))
    assert shape_of_file(tmp_path / "a.csv") == shape_of_file(tmp_path / "0.csv")


WRONG = {
    'shape = "1"\n': ("outside every rule", 1),
    '["a"]\nshape = "1"\nseperator = "comma"\n': ("separator", 3),
    '["a"]\nshape = "1"\ndecimal = "dot"\n': ("point", 3),
    '["a"]\nshape = "1"\ncolumns."I2" = "gate curent, nA"\n': ("gate current", 3),
    '["a"]\nshape = "1"\ncolumns."I2" = "gate current, V"\n': ("no unit of a current", 3),
    '["a"]\nshape = "1"\ncolumns."I2" = "gate current, nB"\n': ("a meaning, a unit and marks", 3),
    '["a"]\ndecimal = "comma"\n': ("--explain", 1),
    '["a"]\nshape = "1"\n["b"]\nshape = "1"\n': ("that of one rule alone", 2),
    '["a"]\nshape = "1"\nskip = -3\n': ("whole number", 3),
    '["a"]\nshape = "1"\nfile-name = "{devise}"\n': ("device", 3),
    '["a"]\nshape = "1"\nencoding = "klingon"\n': ("utf-8", 3),
    '["a"\nshape = "1"\n': ("TOML", 1),
}


@pytest.mark.analytic
@pytest.mark.parametrize("text", WRONG)
def test_a_wrong_rule_is_told_with_its_line(text: str) -> None:
    words, line = WRONG[text]
    with pytest.raises(BadInput, match=words) as caught:
        rules_from_text(text, "reading-rules.toml")
    assert {(each.file, each.line) for each in caught.value.problems} >= {("reading-rules.toml", line)}


@pytest.mark.analytic
@pytest.mark.parametrize("text", ["I2", "I2 = gate curent", "decimal = dot", "= gate current"])
def test_a_wrong_correction_is_told(text: str) -> None:
    with pytest.raises(BadInput):
        with_corrections(Rule(name="a"), [text])


@pytest.mark.analytic
def test_a_pattern_reads_device_and_sizes_from_the_name() -> None:
    found = read_pattern("{wafer}-{device}_w{width:um}u_l{length:um}u_{*}").read(
        "k/W3-T07_w0p42u_l20u_m1.csv"
    )
    assert found == {
        "wafer": "W3",
        "device": "T07",
        "width": pytest.approx(0.42e-6),
        "length": pytest.approx(2e-5),
    }
    assert read_pattern("{device}_T{temperature:K}").read("T07_T300.5.csv") == {
        "device": "T07",
        "temperature": 300.5,
    }
    assert read_pattern("{device}_w{width:um}").read("T07.csv") is None
    for name in ("T07_w100um_l10um.csv", "T07_w100µm_l10.csv", "T07_w100 um_l10μm.csv"):
        found = read_pattern("{device}_w{width:um}_l{length:um}").read(name)
        assert found == {"device": "T07", "width": pytest.approx(1e-4), "length": pytest.approx(1e-5)}, name


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("T07", "at least one field"),
        ("{devise}", 'did you mean "device"'),
        ("{width}", "a unit for every number"),
        ("{width:V}", "length"),
        ("{device}{wafer}", "something between two fields"),
        ("{device}_{device}", "each field once"),
        ("{device", "braces in pairs"),
        ("{device:um}", "without a unit"),
    ],
)
def test_a_wrong_pattern_is_told(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_pattern(text)
