"""Tools and baths from lab file, logbooks and lots: state, checks, numbers with one belief, notices at a step."""

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk import settings
from filmwright.desk.bench import Bench
from filmwright.desk.bench import tool_entries as entries
from filmwright.desk.bench.tool_charts import chart_svg, check_content, number_content
from filmwright.desk.bench.tool_notices import tool_notices
from filmwright.desk.bench.tools import bath, tool, tools
from filmwright.desk.files import today
from filmwright.desk.logbooks import holding, parts_of, spread_of, spread_words, told
from filmwright.errors import BadInput
from filmwright.record import Event, LogbookEntry, Lot, Store, digest
from filmwright.units import to_si

LAB = """\
lab: Test bay
invented: yes
tools:
  evaporator: {does: [electron-beam evaporation], holds: 4}
  acid bench: {does: [wet etch], holds: 25}
calibrations:
  - {tool: evaporator, material: titanium, deposition rate: 0.10 nm/s ± 2 %, date: 2026-01-05, by: AB, evidence: stylus}
baths:
  titanium etch: {medium: dilute hydrofluoric acid, tool: acid bench, made: 2026-01-02, wafers done: 3, most wafers: 10, longest age: 30 day}
"""
PLAN = """\
flow: One film
invented: yes
wafer: {body: silicon, diameter: 100 mm}
steps:
  - deposit: titanium
    method: electron-beam evaporation
    tool: evaporator
    thickness: 60 nm ± 5 %
  - etch: titanium
    in: dilute hydrofluoric acid
    tool: acid bench
    time: 20 s
"""
BY = entries.Line(who="AB")


def line(**more):
    given = {"id": str(uuid.uuid4()), "book": "tool:evaporator", "happened": "2026-02-01T09:00:00+01:00",
             "written": "2026-02-01T09:00:00+01:00", "who": "AB"}  # fmt: skip
    return LogbookEntry(**{**given, **more})


def point(day, nm_s, share=0.02, kind="qualification"):
    moment = f"{day}T09:00:00+01:00"
    value = to_si(nm_s, "nm/s")
    text = told(material="titanium", spread=spread_words(share * value, "nm/s"), evidence="stylus")
    return line(
        kind=kind,
        name="deposition rate",
        value=value,
        unit="nm/s",
        text=text,
        happened=moment,
        written=moment,
    )


def check(day, pascal):
    moment = f"{day}T08:00:00+01:00"
    return line(kind="check", name="base pressure", value=pascal, unit="Pa", happened=moment, written=moment)


@pytest.fixture
def place(tmp_path):
    (tmp_path / "lab.yaml").write_text(LAB, "utf-8")
    (tmp_path / "plan.yaml").write_text(PLAN, "utf-8")
    lot = Lot(
        name="K7M-4H7", flow_text=PLAN, flow_digest=digest(PLAN), lab_text=LAB, lab_digest=digest(LAB),
        knowledge_version="1", code_version="1", wafers=("W1", "W2", "W3", "W4", "W5"),
        started="2026-01-10T08:00:00+01:00", invented=True,
    )  # fmt: skip
    with Store.open(tmp_path / "record.sqlite", create=True) as store:
        store.start_lot(lot)
    return tmp_path


@pytest.fixture
def bench(place):
    with Bench.open(place / "record.sqlite", lab=place / "lab.yaml") as found:
        yield found


def finish(step, day, wafer=""):
    moment = f"{day}T12:00:00+01:00"
    return Event(
        id=str(uuid.uuid4()),
        lot="K7M-4H7",
        kind="finish",
        step=step,
        wafer=wafer,
        happened=moment,
        written=moment,
        who="AB",
    )


@pytest.mark.analytic
def test_a_tool_nobody_wrote_of_is_up_and_one_that_is_down_comes_first(bench):
    assert [(each.name, each.state) for each in tools(bench).tools] == [
        ("evaporator", "up"),
        ("acid bench", "up"),
    ]
    entries.set_state(bench, "acid bench", "down", "no exhaust", BY)
    first = tools(bench).tools[0]
    assert (first.name, first.state, first.why, first.who) == ("acid bench", "down", "no exhaust", "AB")
    entries.set_state(bench, "acid bench", "up", "", BY)
    assert tool(bench, "acid bench").state == "up"


@pytest.mark.property
@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda b: entries.set_state(b, "acid bench", "down", "", BY), "a few words"),
        (lambda b: entries.set_state(b, "acid bench", "broken", "x", BY), "up, limited or down"),
        (lambda b: entries.set_state(b, "evaporater", "up", "", BY), "evaporator"),
        (lambda b: entries.set_state(b, "evaporator", "up", "", entries.Line(who=" ")), "who writes"),
        (lambda b: entries.add_check(b, "evaporator", "base presure", "1 Pa", BY), "base pressure"),
        (lambda b: entries.add_check(b, "evaporator", "base pressure", "3 nm", BY), "pressure"),
        (lambda b: entries.add_reading(b, "evaporator", "deposition rate", "0.1 nm/s", BY), "±"),
        (lambda b: entries.add_reading(b, "evaporator", "rate", "0.1 nm/s ± 2 %", BY), "deposition rate"),
        (lambda b: entries.add_reading(b, "evaporator", "deposition rate", "0.1 nm/s ± 2 %", BY, material="titaniun"), "titanium"),
        (lambda b: entries.add_maintenance(b, "evaporator", " ", BY), "a few words"),
        (lambda b: entries.add_recipe(b, "evaporator", "slow", "", BY), "what is set"),
        (lambda b: entries.bath_action(b, "titanium etch", "new", BY), "fresh"),
        (lambda b: entries.bath_action(b, "titanium etch", "used", BY, wafers="-2"), "whole number"),
        (lambda b: entries.take_back(b, "tool:evaporator", str(uuid.uuid4()), "wrong", BY), "one that holds"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept_is_refused_with_a_remedy(bench, act, words):
    with pytest.raises(BadInput) as trouble:
        act(bench)
    assert words in " ".join(f"{p.what} {p.expected} {p.remedy}" for p in trouble.value.problems)
    assert not bench.store.books()


@pytest.mark.analytic
def test_a_check_has_limits_from_its_own_history_and_is_asked_about_outside_of_them(bench):
    days = [f"2026-02-{day:02d}" for day in range(1, 11)]
    bench.store.enter([check(day, to_si(4.0 + 0.2 * (k % 2), "Pa")) for k, day in enumerate(days[:7])])
    assert tool(bench, "evaporator", "2026-02-07").checks[0].limits == "no limits yet, 7 of 8"
    bench.store.enter(
        [check(day, to_si(4.0 + 0.2 * (k % 2), "Pa")) for k, day in enumerate(days[7:], start=7)]
    )
    told_of = tool(bench, "evaporator", "2026-02-10").checks[0]
    # Moving ranges of 0.2 throughout: 4.1 ± 3·0.2/1.128 = 3.568 … 4.632.
    assert told_of.limits.startswith("3.57 Pa to 4.63 Pa")
    assert not told_of.due
    assert tool(bench, "evaporator", "2026-02-11").due == ("check base pressure",)
    asked = entries.add_check(bench, "evaporator", "base pressure", "4.9 Pa", BY)
    assert (asked.kept, "outside" in asked.said) == (False, True)
    slip = entries.add_check(bench, "evaporator", "base pressure", "4100", BY)
    assert "look at the unit" in slip.said
    kept = entries.add_check(bench, "evaporator", "base pressure", "4,9", entries.Line(who="AB", sure=True))
    assert kept.kept
    newest = tool(bench, "evaporator").checks[0]
    assert newest.alarmed
    assert "one reading beyond 3 sigma" in newest.alarms[0]
    assert "once in 370 readings" in newest.alarms[0]


@pytest.mark.analytic
def test_a_second_touch_a_second_later_is_kept_once_and_something_else_is_refused(bench, monkeypatch):
    by = entries.Line(who="AB", id="5e1b9f0c-8f53-4ce1-9d6e-0c1a3b7f2d44")
    for moment in ("2026-02-03T09:00:00+01:00", "2026-02-03T09:00:01+01:00"):
        monkeypatch.setattr(entries, "now", lambda moment=moment: moment)
        assert entries.add_note(bench, "tool:evaporator", "shutter sticks", by).kept
    (line,) = bench.store.logbook("tool:evaporator")
    assert line.happened == "2026-02-03T09:00:00+01:00"
    with pytest.raises(BadInput, match="under this id"):
        entries.add_note(bench, "tool:evaporator", "shutter is mended", by)


@pytest.mark.analytic
def test_each_rule_is_told_once_with_all_that_it_found_the_newest_first(bench):
    days = [f"2026-02-{day:02d}" for day in range(1, 21)]
    values = [4.0 + 0.2 * (k % 2) for k in range(20)]
    values[12] = values[19] = 6.0
    bench.store.enter([check(day, to_si(value, "Pa")) for day, value in zip(days, values, strict=True)])
    # Mean moving range (16·0.2 + 2.0 + 1.8 + 1.8)/19 = 0.46, so the upper limit is 4.29 + 3·0.46/1.128 = 5.5.
    told_of = tool(bench, "evaporator", "2026-02-20").checks[0]
    beyond = [each for each in told_of.alarms if each.startswith("one reading beyond 3 sigma")]
    assert beyond == [told_of.alarms[0]]
    assert beyond[0].startswith("one reading beyond 3 sigma: 2026-02-20, 2026-02-13; usually")


@pytest.mark.analytic
def test_a_qualification_point_is_the_rate_of_settings_sheet_and_page_alike(place, bench):
    before = tool(bench, "evaporator").numbers[0]
    entries.add_reading(
        bench,
        "evaporator",
        "deposition rate",
        "0.12 nm/s ± 2 %",
        entries.Line(who="AB", sure=True),
        material="titanium",
        monthly=True,
    )
    after = tool(bench, "evaporator").numbers[0]
    assert after.belief.age_days == 0
    assert before.belief.age_days > 30
    assert after.belief.value > 1.15 * before.belief.value
    answer = settings(place / "plan.yaml", record=place / "record.sqlite")
    time = next(each for each in answer.steps[0].settings if each.name == "time")
    assert time.setting.value == pytest.approx(to_si(60, "nm") / after.belief.value, rel=1e-3)
    assert bench.work("K7M-4H7").lab.calibrations[-1].value == pytest.approx(to_si(0.12, "nm/s"))


@pytest.mark.analytic
def test_maintenance_outdates_and_the_next_point_begins_a_phase(bench):
    bench.store.enter([point(f"2026-{month:02d}-01", 0.1 + 0.001 * (month % 2)) for month in range(2, 6)])
    bench.store.enter(
        [
            line(
                kind="maintenance",
                name="opened",
                text="new crystal",
                happened="2026-05-10T08:00:00+02:00",
                written="2026-05-10T08:00:00+02:00",
            )
        ]
    )
    opened = tool(bench, "evaporator", "2026-05-11")
    assert opened.maintenance == ("2026-05-10: new crystal, AB",)
    assert "measure it again" in opened.numbers[0].belief.reason
    assert opened.numbers[0].belief.std > tool(bench, "evaporator", "2026-05-09").numbers[0].belief.std
    bench.store.enter([point("2026-05-12", 0.13)])
    found = tool(bench, "evaporator", "2026-05-13").numbers[0]
    assert found.belief.value == pytest.approx(to_si(0.13, "nm/s"))
    assert [(p.first, p.after) for p in found.chart.phases] == [(0, 5), (5, 6)]
    due = tool(bench, "evaporator", "2026-07-01").qualification
    assert "50 days old" in due
    assert not tool(bench, "evaporator", "2026-06-10").qualification


@pytest.mark.analytic
def test_steps_of_lots_are_uses_of_tool_and_bath(bench):
    bench.store.enter([line(kind="note", text="logbook begun")])
    bench.store.append(
        [finish("1.1", "2026-01-12"), finish("2.1", "2026-01-13", "W1"), finish("2.1", "2026-01-13", "W2")]
    )
    evaporator, acid = tool(bench, "evaporator", "2026-01-20"), tool(bench, "acid bench", "2026-01-20")
    # Five wafers in a tool that holds four are two runs.
    assert [(use.lot, use.step, use.wafers, use.runs) for use in evaporator.uses] == [
        ("K7M-4H7", "01A", 5, 2)
    ]
    assert bench.lab_now().uses["evaporator"] == ("2026-01-12", "2026-01-12")
    assert acid.baths[0].wafers == 3 + 2
    entries.bath_action(bench, "titanium etch", "used", BY, wafers="4")
    assert bath(bench, "titanium etch").wafers == 9


@pytest.mark.analytic
def test_a_bath_grows_old_and_is_young_again_when_fresh(bench):
    assert bath(bench, "titanium etch", "2026-01-31").state == "in use"
    old = bath(bench, "titanium etch", "2026-02-02")
    assert (old.state, old.age_days) == ("expired", 31)
    assert "at most" in old.why
    moment = "2026-02-02T10:00:00+01:00"
    made = line(book="bath:titanium etch", kind="bath", name="topped up", happened=moment, written=moment)
    bench.store.enter([made])
    assert bath(bench, "titanium etch", "2026-02-02").state == "expired"
    fresh = line(book="bath:titanium etch", kind="bath", name="fresh", happened=moment, written=moment)
    bench.store.enter([fresh])
    young = bath(bench, "titanium etch", "2026-02-03")
    assert (young.state, young.age_days, young.wafers, young.made) == ("in use", 1, 0, "2026-02-02")
    later = "2026-02-05T10:00:00+01:00"
    bench.store.enter(
        [line(book="bath:titanium etch", kind="bath", name="discarded", happened=later, written=later)]
    )
    assert bath(bench, "titanium etch", "2026-02-06").state == "discarded"
    assert bath(bench, "titanium etch", "2026-02-04").state == "in use"
    assert not bench.lab_now().baths


@pytest.mark.analytic
def test_a_step_is_told_of_tool_bath_and_dummies(bench):
    moment = "2026-03-01T08:00:00+01:00"
    bench.store.enter([
        line(kind="state", name="limited", text="shutter sticks", happened=moment, written=moment),
        check("2026-03-01", 4.0),
    ])  # fmt: skip
    told_of = tool_notices(bench, "K7M-4H7", "01A", "2026-03-02")
    assert any("limited: shutter sticks" in each for each in told_of)
    assert any("Due on evaporator: check base pressure" in each for each in told_of)
    # 2 % read 56 days ago, 1 % per √day: ± 1.96·√(2² + 56 + 0.5²) % = 15 % against ± 5 %; one dummy: 7.8 ⊕ 2 → 1.94 %, ± 3.9 %.
    dummies = [each for each in told_of if "dummy" in each]
    assert dummies == [
        "Run a dummy first: the film is known to ± 15.2% today, the step accepts ± 5.0%; 1 measured dummy brings it inside."
    ]
    assert any(
        "titanium etch is expired" in each for each in tool_notices(bench, "K7M-4H7", "02A", "2026-03-02")
    )
    bench.store.enter([point("2026-03-02", 0.1, 0.01)])
    assert not [each for each in tool_notices(bench, "K7M-4H7", "01A", "2026-03-02") if "dummy" in each]


@pytest.mark.property
@given(
    st.dictionaries(
        st.sampled_from(["material", "medium", "recipe", "evidence"]),
        st.text(st.characters(codec="ascii", min_codepoint=32, exclude_characters=";"), max_size=30).map(
            lambda t: " ".join(t.split())
        ),
    ),
    st.floats(1e-12, 1e-3),
)
def test_words_of_a_line_are_read_again(parts, std):
    kept = {name: value for name, value in parts.items() if value}
    text = told(**kept, spread=spread_words(std, "nm/s"))
    found = parts_of(text)
    assert {name: found.get(name) for name in kept} == kept
    assert spread_of(
        line(kind="calibration", name="deposition rate", value=1.0, unit="nm/s", text=text)
    ) == pytest.approx(std, rel=1e-3)


@pytest.mark.property
def test_a_correction_takes_the_place_and_a_note_about_it_takes_it_back(bench):
    first = check("2026-02-01", 4.0)
    second = line(kind="check", name="base pressure", value=5.0, unit="Pa", about=first.id)
    bench.store.enter([first, second])
    assert [each.value for each in holding(bench.store.logbook("tool:evaporator"))] == [5.0]
    entries.take_back(bench, "tool:evaporator", second.id, "wrong gauge", BY)
    assert not tool(bench, "evaporator").checks
    assert len(bench.store.logbook("tool:evaporator")) == 3
    assert bench.store.verify_book("tool:evaporator").sound


@pytest.mark.property
def test_a_double_tap_is_kept_once(bench):
    by = entries.Line(who="AB", id=str(uuid.uuid4()), happened=f"{today()}T00:00:00+14:00")
    first = entries.add_check(bench, "evaporator", "base pressure", "4 Pa", by)
    second = entries.add_check(bench, "evaporator", "base pressure", "4 Pa", by)
    assert first.line.id == second.line.id
    assert len(bench.store.logbook("tool:evaporator")) == 1


@pytest.mark.property
def test_charts_carry_no_style_and_say_what_they_show(bench):
    bench.store.enter(
        [check(f"2026-02-{day:02d}", 4.0 + 0.2 * (day % 2) + (2 if day == 20 else 0)) for day in range(1, 25)]
    )
    bench.store.enter([point(f"2026-{month:02d}-01", 0.1 + 0.001 * (month % 2)) for month in range(2, 6)])
    found = tool(bench, "evaporator", "2026-06-01")
    for content in (
        check_content(found.checks[0], found.on, ["2026-02-10"]),
        number_content(found.numbers[0], bench.lab_now()),
    ):
        svg = chart_svg(content)
        assert "style=" not in svg
        assert "var(" not in svg
        assert "<title>" in svg
    assert "one reading beyond 3 sigma" in chart_svg(check_content(found.checks[0], found.on))
    # The band at today is the belief that settings use.
    last = number_content(found.numbers[0], bench.lab_now()).band[-1]
    assert last[:2] == (0.0, found.numbers[0].belief.value)
    assert (last[3] - last[2]) / 2 == pytest.approx(1.96 * found.numbers[0].belief.std, rel=1e-3)


@pytest.mark.analytic
def test_what_lots_did_widens_the_band(bench):
    bench.store.enter([line(kind="note", text="logbook begun")])
    idle = tool(bench, "evaporator", "2026-01-20").numbers[0].belief
    bench.store.append([finish("1.1", "2026-01-12")])
    used = tool(bench, "evaporator", "2026-01-20").numbers[0].belief
    # Two runs of 0.5 % each, as is usual of a rate.
    assert used.std**2 - idle.std**2 == pytest.approx(2 * (0.005 * idle.value) ** 2)
