"""The verb why: every setting of every step has its derivation, on the screen and for programs."""

import json

import pytest

from filmwright.sources import KINDS


@pytest.mark.whole
def test_the_time_of_a_film_with_every_number_in_its_place(filmwright, switch):
    said = filmwright("why", str(switch / "plan.yaml"), "--step", "02A")
    assert said.code == 0
    text = " ".join(said.out.split())
    # 60 nm at the 0.10 nm/s of the example's lab file
    assert "time 600 s 95 % band" in text
    assert "equation t = d / R" in text
    assert "put in (60 nm) / (0.1 nm/s) = 600 s" in text
    assert "stylus on 5 sites" in text
    assert "no permission" in text


@pytest.mark.whole
@pytest.mark.parametrize("example", ["switch", "thermometer"])
def test_every_setting_of_every_step_says_its_law_source_and_result(filmwright, request, example):
    folder = request.getfixturevalue(example)
    steps = filmwright("settings", str(folder / "plan.yaml"), "--json").fields["steps"]
    written = dict.fromkeys(step["number"].split(".")[0] for step in steps)
    told = [
        each
        for number in written
        for each in filmwright("why", str(folder / "plan.yaml"), "--step", number, "--json").fields["steps"]
    ]
    assert [each["code"] for each in told] == [step["code"] for step in steps]
    for found, step in zip(told, steps, strict=True):
        assert [each["name"] for each in found["settings"]] == [each["name"] for each in step["settings"]]
        for each, dialled in zip(found["settings"], step["settings"], strict=True):
            assert each["law"]
            assert each["kind"] in KINDS
            assert (each["result"] is None) == bool(each["text"])
            assert each["result"] == dialled["value"]
            assert all(given["source"] and given["unit"] is not None for given in each["inputs"])
            if each["band"]:
                assert each["band"][0] <= each["result"] <= each["band"][1]


@pytest.mark.whole
def test_a_written_step_by_its_name_tells_all_that_it_expands_to(filmwright, switch):
    plan = str(switch / "plan.yaml")
    for verb in ("why", "settings"):
        said = filmwright(verb, plan, "--step", "gate etch", "--json")
        assert [step["code"] for step in said.fields["steps"]] == ["04A", "04C"]


@pytest.mark.whole
def test_a_step_that_is_not_there_gets_the_nearest(filmwright, switch):
    said = filmwright("why", str(switch / "plan.yaml"), "--step", "99Z")
    assert said.code == 2
    assert "02A" in said.err or "code" in said.err
    missing = filmwright("why", str(switch / "plan.yaml"), "--json")
    assert missing.code == 2
    assert "--step" in json.dumps(missing.fields)
