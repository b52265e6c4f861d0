"""Which record is meant: the one that is named, that of the environment, or the usual file."""

from pathlib import Path

import pytest

from filmwright import desk
from filmwright.desk.files import record_if_any, record_place
from filmwright.record import Store


@pytest.mark.analytic
def test_what_is_named_comes_before_the_environment_and_that_before_the_usual_file(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FILMWRIGHT_RECORD", raising=False)
    assert record_place(None) == Path("record.sqlite")
    assert record_if_any(None) is None
    Path("record.sqlite").touch()
    assert record_if_any(None) == Path("record.sqlite")
    monkeypatch.setenv("FILMWRIGHT_RECORD", "postgresql://me@host/lab")
    assert record_place(None) == record_if_any(None) == "postgresql://me@host/lab"
    assert record_place("other.sqlite") == record_if_any("other.sqlite") == "other.sqlite"


@pytest.mark.whole
def test_a_lot_is_started_and_logged_in_postgresql_by_the_same_verbs(
    filmwright, postgres_place, monkeypatch, tmp_path
):
    desk.new(tmp_path / "run", "platinum-thermometer")
    plan = tmp_path / "run" / "plan.yaml"
    said = filmwright("run", plan, "--record", postgres_place, "--json")
    assert said.code == 0, said.err
    lot = said.fields["lot"]
    assert said.fields["record"] == postgres_place
    monkeypatch.setenv("FILMWRIGHT_RECORD", postgres_place)
    said = filmwright("log", lot, "01A", "--note", "rinsed")
    assert said.code == 0, said.err
    with Store.open(postgres_place) as store:
        assert [each.text for each in store.events(lot)][-1:] == ["rinsed"]
        assert store.verify(lot).sound
    assert not Path("record.sqlite").exists()
