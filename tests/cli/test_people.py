"""Accounts by words: the first administrator, links for a password, roles, closing."""

import pytest

from filmwright.desk.bench import People, SignIns
from filmwright.record import Store

pytestmark = pytest.mark.whole


def test_the_first_administrator_gets_a_link_where_nobody_sits_at_a_terminal(filmwright, tmp_path):
    said = filmwright("people", "add", "Mara", "--role", "administrator", "--at", "https://bench.example/")
    assert said.code == 0
    (line,) = [each for each in said.out.splitlines() if "/first/" in each]
    with Store.open(tmp_path / "record.sqlite") as store:
        people = People(store)
        token = line.strip().removeprefix("https://bench.example/first/")
        assert people.name_of_link(token) == "Mara"
        assert people.use_link(token, "tulip harbour seven crayon") == "Mara"
        assert SignIns(people).by_password("mara", "tulip harbour seven crayon")
        assert "tulip" not in str(people.lines())


def test_a_password_is_typed_unseen_and_twice(filmwright, monkeypatch, tmp_path):
    from filmwright.cli import people_verbs

    monkeypatch.setattr(people_verbs, "_asked", lambda: "tulip harbour seven crayon")
    said = filmwright("people", "add", "Mara", "--role", "administrator")
    assert "tulip" not in said.out + said.err
    assert "/first/" not in said.out
    with Store.open(tmp_path / "record.sqlite") as store:
        assert SignIns(People(store)).by_password("Mara", "tulip harbour seven crayon")


def test_no_word_of_the_command_takes_a_password():
    from typer.main import get_command

    from filmwright.cli.people_verbs import people_verbs

    words = {
        option
        for each in get_command(people_verbs).commands.values()
        for p in each.params
        for option in p.opts
    }
    assert not [each for each in words if "pass" in each]


def test_roles_links_and_closing(filmwright):
    filmwright("people", "add", "Mara", "--role", "administrator", "--link")
    filmwright("people", "add", "Otto", "--link")
    assert filmwright("people", "role", "otto", "process-owner").code == 0
    assert filmwright("people", "close", "Otto").code == 0
    listed = filmwright("people", "list", "--json").fields["people"]
    assert [(each["name"], each["role"], each["active"]) for each in listed] == [
        ("Mara", "administrator", True), ("Otto", "process owner", False),
    ]  # fmt: skip
    assert filmwright("people", "open", "Otto").code == 0
    assert filmwright("people", "link", "Otto", "--json").fields["added"]["link"].startswith("/first/fwl_")


def test_what_cannot_be_is_refused_with_words(filmwright):
    filmwright("people", "add", "Mara", "--role", "administrator", "--link")
    for words in (
        ("add", "mara", "--link"),
        ("role", "Mara", "reader"),
        ("close", "Mara"),
        ("role", "Mara", "boss"),
        ("link", "Nora"),
    ):
        said = filmwright("people", *words)
        assert said.code == 2, words
        assert "nothing was written" in said.err
