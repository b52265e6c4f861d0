"""Limits of the review, nominal wafers, usual times, and the digest that a run is predicted with."""

import shutil
from pathlib import Path

import pytest

from filmwright.knowledge import book, limits, shipped, usual_time, version, wafer_thickness
from filmwright.units import convert, read, to_si


@pytest.mark.property
@pytest.mark.parametrize("name", limits())
def test_a_limit_says_what_it_limits_and_prints_in_its_unit(name: str):
    limit = limits()[name]
    assert limit.name == name
    assert limit.value > 0
    assert len(limit.means) > 20
    assert limit.source.kind == "common practice"
    assert read(f"{convert(limit.value, limit.unit):.12g} {limit.unit}".strip(), limit.dimension).value == pytest.approx(
        limit.value
    )  # fmt: skip


@pytest.mark.property
@pytest.mark.parametrize(
    ("mild", "severe"),
    [
        ("developer loss warn", "developer loss stop"),
        ("film loss warn", "film loss stop"),
        ("gate field want", "gate field stop"),
    ],
)
def test_a_stop_lies_beyond_its_warning(mild: str, severe: str):
    assert limits()[mild].value < limits()[severe].value


@pytest.mark.literature
@pytest.mark.parametrize(("diameter", "thickness"), [(100, 525), (150, 675), (76.2, 380), (50.8, 280)])
def test_nominal_thickness_of_wafers(diameter: float, thickness: float):
    # SEMI M1, from memory: nominal values, ± 20 to 25 µm
    assert wafer_thickness(to_si(diameter, "mm")) == pytest.approx(to_si(thickness, "um"))


@pytest.mark.property
def test_every_kind_of_bath_has_a_usual_time_with_wide_bounds():
    for kind in {medium.kind for medium in book().media.values()}:
        time = usual_time(kind)
        assert to_si(5, "s") <= time.value <= to_si(30, "min"), kind
        assert (time.low, time.high) == pytest.approx((time.value / 2, time.value * 2))
        assert time.source.kind == "common practice"


@pytest.mark.property
@pytest.mark.parametrize(
    "change",
    [
        lambda folder: _replaced(folder / "drift.toml", "1 %", "1.1 %"),
        lambda folder: _replaced(folder / "materials" / "metals.toml", "19.3 g/cm³", "19.2 g/cm³"),
        lambda folder: (folder / "limits.toml").rename(folder / "bounds.toml"),
        lambda folder: (folder / "resists.toml").unlink(),
    ],
    ids=["a drift", "a density", "a name of a file", "a file less"],
)
def test_the_version_changes_with_the_facts(change, tmp_path, monkeypatch):
    copy = Path(shutil.copytree(shipped._DATA, tmp_path / "data"))
    monkeypatch.setattr(shipped, "_DATA", copy)
    shipped_version = version()
    try:
        version.cache_clear()
        assert version() == shipped_version, "a copy of the same facts"
        change(copy)
        version.cache_clear()
        assert version() != shipped_version
    finally:
        version.cache_clear()


def _replaced(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
