"""What was entered under a name that the plan does not have any more is shown where it belongs now."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from filmwright.desk.bench import Bench
from filmwright.desk.bench import versions as of_versions
from filmwright.desk.bench.checks import Plan
from filmwright.desk.bench.renamed import with_entered
from filmwright.desk.bench.step_card import Knob, step_card
from filmwright.desk.bench.versions import NewVersion, save_version
from filmwright.record import Event

Make = Callable[..., Event]
LOT = "K7M-4H7"


def knob(name: str, unit: str, value: float) -> Knob:
    return Knob(name=name, number="1", unit=unit, plan=Plan(name=name, value=value, unit=unit))


@pytest.mark.analytic
def test_a_renamed_setting_has_its_value_and_says_under_which_name_it_was_entered(entry: Make) -> None:
    told = {"spin time": entry("set", "1.1", name="spin time", value=31.0, unit="s")}
    knobs = (knob("time", "s", 30.0), knob("temperature", "°C", 363.15))
    found, also = with_entered(knobs, told, frozenset({"spin time"}))
    assert [(each.name, each.actual, each.earlier) for each in found] == [
        ("time", "31 s", "spin time"), ("temperature", "", ""),
    ]  # fmt: skip
    assert also == ()


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("knobs", "names", "words"),
    [
        ((knob("temperature", "°C", 363.15),), {"spin time"}, "entered under its earlier name"),
        ((knob("time", "s", 30.0), knob("dark wait", "s", 60.0)), {"spin time"}, "under its earlier name"),
        ((knob("time", "s", 30.0),), set(), "the plan asks for no such setting here"),
    ],
)
def test_where_it_is_not_plain_which_setting_took_its_place_it_stands_by_itself(
    entry: Make, knobs: tuple[Knob, ...], names: set[str], words: str
) -> None:
    """No setting of its dimension, two of them, or a name that the plan never had."""
    told = {"spin time": entry("set", "1.1", name="spin time", value=31.0, unit="s")}
    found, also = with_entered(knobs, told, frozenset(names))
    assert not any(each.actual for each in found)
    (line,) = also
    assert "spin time 31 s" in line
    assert words in line


@pytest.mark.analytic
def test_a_setting_with_a_value_of_its_own_keeps_it(entry: Make) -> None:
    told = {
        "spin time": entry("set", "1.1", name="spin time", value=31.0, unit="s"),
        "time": entry("set", "1.1", name="time", value=30.0, unit="s"),
    }
    found, also = with_entered((knob("time", "s", 30.0),), told, frozenset({"spin time"}))
    assert (found[0].actual, found[0].earlier) == ("30 s", "")
    assert len(also) == 1


@pytest.mark.analytic
def test_the_page_of_a_step_shows_what_was_entered_before_the_plan_was_changed(
    bench: Bench, entry: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A tablet without network sends a time for an etch that goes to its end point in the newest plan."""
    monkeypatch.setattr(of_versions, "_findings", lambda *_: ())
    monkeypatch.setattr("filmwright.desk.bench.step_card._known", lambda *_: None)
    text = bench.flow_text(LOT).replace("time: 20 s", "until: end point + 25 %")
    save_version(bench, NewVersion(lot=LOT, text=text, why="the end is seen well", who="AB"))
    bench.store.append([entry("set", "4.1", name="time", value=22.0, unit="s")])
    card = step_card(bench, LOT, "04A")
    assert [each for each in card.also if "time 22 s" in each and "earlier name" in each]
    assert card.fields()["also_entered"] == list(card.also)
