"""The verb day: a real plan in the hours of its lab."""

import datetime
import re

import pytest

# The next ones: the example's lab file is dated back from the day on which it is written.
_TOMORROW = datetime.date.today() + datetime.timedelta(days=1)
THURSDAY, FRIDAY, MONDAY = (
    (_TOMORROW + datetime.timedelta(days=(3 - _TOMORROW.weekday()) % 7 + later)).isoformat()
    for later in (0, 1, 4)
)


def asked(filmwright, folder, *more):
    said = filmwright("day", str(folder / "plan.yaml"), "--start", f"{THURSDAY} 09:00", "--json", *more)
    assert said.code == 0, said.err
    return said.fields


def changed(folder, old, new):
    lab = folder / "lab.yaml"
    text = lab.read_text("utf-8")
    assert old in text
    lab.write_text(text.replace(old, new, 1), "utf-8")


def moment(text):
    return datetime.datetime.fromisoformat(text)


@pytest.mark.whole
def test_every_step_lies_within_the_hours_and_in_order(filmwright, switch):
    found = asked(filmwright, switch)
    before = moment(f"{THURSDAY}T09:00")
    for step in found["steps"]:
        begin, end = moment(step["begin"]), moment(step["end"])
        assert before <= begin
        assert begin.date() == end.date()
        assert datetime.time(8) <= begin.time() <= end.time() <= datetime.time(18)
        assert begin.weekday() < 5
        took = sum(each["time"] for each in step["phases"])
        assert (end - begin).total_seconds() == pytest.approx(took, abs=1.0)
        assert begin <= moment(step["latest_start"]) + datetime.timedelta(seconds=1)
        assert step["may_wait"]["known"] == (step["may_wait"]["value"] is not None)
        before = begin
    assert found["steps"][-1]["end"] == found["finish"]
    evaporation = next(step for step in found["steps"] if step["code"] == "02A")
    # 15 + 45 + 10 (60 nm at 0.10 nm/s) + 15 min, by hand from the example's lab file
    assert (moment(evaporation["end"]) - moment(evaporation["begin"])).total_seconds() == pytest.approx(
        85 * 60
    )
    assert [each["name"] for each in evaporation["phases"]] == [
        "load and unload",
        "pump-down",
        "process",
        "cool-down",
    ]


@pytest.mark.whole
def test_a_wait_that_would_run_over_the_night_puts_the_steps_before_it_off(filmwright, switch):
    # Closing falls between priming and baking: nothing is primed or coated that cannot be baked that day.
    free = {step["code"]: step for step in asked(filmwright, switch)["steps"]}
    closing = moment(free["09C"]["end"]) + datetime.timedelta(minutes=1)
    found = asked(filmwright, switch, "--closing", f"{closing:%H:%M}")
    assert not found["done_before_closing"]
    last = [step for step in found["steps"] if step["begin"].startswith(THURSDAY)][-1]
    after = [step for step in found["steps"] if step["begin"].startswith(FRIDAY)]
    assert last["code"] == "08A"
    assert after[0]["code"] == "09A"
    assert moment(last["end"]) <= closing
    assert after[0]["begin"] == f"{FRIDAY}T08:00:00"


@pytest.mark.whole
def test_friday_evening_runs_into_monday(filmwright, thermometer):
    found = filmwright("day", str(thermometer / "plan.yaml"), "--start", f"{FRIDAY} 17:59", "--json").fields
    assert found["steps"][0]["begin"] == f"{MONDAY}T08:00:00"


@pytest.mark.whole
def test_a_tool_with_hours_of_its_own(filmwright, switch):
    changed(switch, "  evaporator:\n", "  evaporator:\n    open: 13:00-17:00\n    days: [Thu]\n")
    found = {step["code"]: step for step in asked(filmwright, switch)["steps"]}
    assert found["02A"]["begin"] == f"{THURSDAY}T13:00:00"
    assert found["01A"]["begin"] == f"{THURSDAY}T09:00:00"
    assert moment(found["17A"]["begin"]).weekday() == 3


@pytest.mark.whole
def test_a_step_longer_than_the_day_is_told(filmwright, switch):
    changed(switch, "    heat-up: 25 min", "    heat-up: 11 h")
    found = asked(filmwright, switch)
    assert found["steps_that_never_fit"][0].startswith("20A")
    assert found["steps"][-1]["code"] == "19C"
    said = filmwright("day", str(switch / "plan.yaml"), "--start", f"{THURSDAY} 09:00")
    assert "fits into no opening hours" in said.out


@pytest.mark.whole
def test_beginning_in_the_middle_and_the_calendar_file(filmwright, switch):
    into = switch / "day.ics"
    found = asked(filmwright, switch, "--from", "19A", "--into", str(into))
    assert found["steps"][0]["code"] == "19A"
    assert found["done_before_closing"]
    text = into.read_bytes().decode("utf-8")
    assert text.count("BEGIN:VEVENT") == len(found["steps"])
    begins = re.findall(r"DTSTART:(\S+)\r\n", text)
    assert begins == [moment(step["begin"]).strftime("%Y%m%dT%H%M%S") for step in found["steps"]]


@pytest.mark.whole
def test_without_hours_the_closing_that_is_given_holds_for_every_day(filmwright, switch):
    changed(switch, "open: 08:00-18:00\ndays: Mon-Fri\n", "")
    found = asked(filmwright, switch, "--closing", "15:00")
    assert "no opening hours" in found["notes"][0]
    assert all(datetime.time(9) <= moment(step["begin"]).time() for step in found["steps"])
    assert all(moment(step["end"]).time() <= datetime.time(15) for step in found["steps"])
    free = asked(filmwright, switch)
    assert free["closing"] is None
    assert free["done_before_closing"]


@pytest.mark.whole
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--start", "tomorrow"), "the start"),
        (("--start", f"{THURSDAY} 09:00+01:00"), "the start"),
        (("--closing", "6 pm"), "the closing"),
        (("--zone", "Europe/Berlim"), "Europe/Berlin"),
        (("--from", "99Z"), "step"),
    ],
)
def test_words_that_are_no_time_are_refused(filmwright, switch, words, said):
    found = filmwright("day", str(switch / "plan.yaml"), *words)
    assert found.code == 2
    assert said in found.err


@pytest.mark.whole
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("open: 08:00-18:00", "open: 18:00-18:00"),
        ("open: 08:00-18:00", "open: 08:00-18:00\nzone: Europe/Berlim"),
        ("open: 08:00-18:00", "open: 8 to 6"),
        ("open: 08:00-18:00", "open: 08:00-25:00"),
        ("days: Mon-Fri", "days: Mon-Fri-Sun"),
        ("days: Mon-Fri", "days: [workdays]"),
    ],
)
def test_hours_that_are_none_are_refused_at_their_line(filmwright, switch, old, new):
    changed(switch, old, new)
    found = filmwright("day", str(switch / "plan.yaml"))
    assert found.code == 2
    assert "lab.yaml:" in found.err
    assert any(word in found.err for word in ("08:00-18:00", "Mon-Fri", "Europe/Berlin"))


@pytest.mark.whole
def test_the_table_says_what_ends_before_closing(filmwright, switch):
    said = filmwright("day", str(switch / "plan.yaml"), "--start", f"{THURSDAY} 09:00", "--closing", "15:00")
    text = " ".join(said.out.split())
    assert "Not all of it before closing at 15:00" in text
    assert "no permission" in text or "no time here is a permission" in text


@pytest.mark.whole
def test_six_wafers_load_each_tool_as_often_as_it_must(filmwright, switch):
    one = {step["code"]: step for step in asked(filmwright, switch)["steps"]}
    found = asked(filmwright, switch, "--wafers", "6")
    six = {step["code"]: step for step in found["steps"]}

    def took(step):
        return (moment(step["end"]) - moment(step["begin"])).total_seconds()

    # By hand from the example's lab file: the evaporator holds 4, the spinner 1, the oven 25
    assert six["02A"]["runs"] == 2
    assert took(six["02A"]) == pytest.approx(2 * took(one["02A"]))
    assert six["03D"]["runs"] == 6
    assert took(six["03D"]) == pytest.approx(6 * took(one["03D"]), abs=1)
    assert six["20A"]["runs"] == 1
    assert took(six["20A"]) == pytest.approx(took(one["20A"]))
    for step in found["steps"]:
        assert sum(each["time"] for each in step["phases"]) == pytest.approx(took(step), abs=1)
    # Coated one after another, the first would wait for the other five: longer than ten minutes
    assert any("03D to 03E" in note and "take each wafer through both" in note for note in found["notes"])


@pytest.mark.whole
def test_a_tool_that_does_not_say_what_it_holds_takes_one(filmwright, switch):
    changed(switch, "    holds: 4\n    pump-down: 45 min", "    pump-down: 45 min")
    found = asked(filmwright, switch, "--wafers", "3")
    assert next(step for step in found["steps"] if step["code"] == "02A")["runs"] == 3
    assert any("one wafer at a time" in note and "evaporator" in note for note in found["notes"])


@pytest.mark.whole
def test_a_night_shift_crosses_midnight(filmwright, switch):
    changed(switch, "open: 08:00-18:00\ndays: Mon-Fri", "open: 22:00-06:00\ndays: Mon-Fri")
    found = asked(filmwright, switch)
    begins = [moment(step["begin"]) for step in found["steps"]]
    assert begins[0] == moment(f"{THURSDAY}T22:00")
    assert any(begin.time() < datetime.time(6) for begin in begins)
    for step in found["steps"]:
        begin, end = moment(step["begin"]), moment(step["end"])
        opened = begin.replace(hour=22, minute=0, second=0)
        opened -= datetime.timedelta(days=0 if begin.hour >= 22 else 1)
        assert end <= opened + datetime.timedelta(hours=8)
        assert opened.weekday() < 5
    # What began on Thursday at 22:00 runs on in the small hours of Friday
    late = filmwright("day", str(switch / "plan.yaml"), "--start", f"{FRIDAY} 01:00", "--json").fields
    assert late["steps"][0]["begin"] == f"{FRIDAY}T01:00:00"
    assert late["closing"] == f"{FRIDAY}T06:00:00"


@pytest.mark.whole
def test_a_lab_that_never_closes_has_no_closing(filmwright, switch):
    changed(switch, "open: 08:00-18:00\ndays: Mon-Fri", "open: 00:00-24:00")
    found = asked(filmwright, switch)
    assert found["closing"] is None
    assert found["done_before_closing"]


@pytest.mark.whole
def test_the_calendar_in_a_time_zone_is_written_in_utc(filmwright, switch):
    into = switch / "day.ics"
    found = asked(filmwright, switch, "--from", "19A", "--zone", "Asia/Kolkata", "--into", str(into))
    # Indian standard time is 5 h 30 min ahead all the year
    first = moment(found["steps"][0]["begin"]) - datetime.timedelta(hours=5, minutes=30)
    begins = re.findall(r"DTSTART:(\S+)\r\n", into.read_bytes().decode("utf-8"))
    assert begins[0] == f"{first:%Y%m%dT%H%M%S}Z"
    assert all(begin.endswith("Z") for begin in begins)
    changed(switch, "days: Mon-Fri", "days: Mon-Fri\nzone: Asia/Tokyo")
    assert asked(filmwright, switch)["zone"] == "Asia/Tokyo"


@pytest.mark.whole
def test_a_change_of_the_clock_is_told(filmwright, switch):
    # Summer time in the European Union ends on the last Sunday of October: 25 October 2026
    said = filmwright(
        "day", str(switch / "plan.yaml"), "--start", "2026-10-23 14:00", "--zone", "Europe/Paris", "--json"
    )
    assert any("clock is changed" in note and "26 October" in note for note in said.fields["notes"])
