"""Accounts and sign-ins by a clock that the test turns: how long they last, what ends them, what is logged."""

import datetime

import pytest

from filmwright.desk.bench import ROLES, People, SignIns, passwords
from filmwright.desk.bench.people import LINK_LASTS
from filmwright.errors import BadInput
from filmwright.record import ROLES as KEPT_ROLES
from filmwright.record import Store

pytestmark = pytest.mark.analytic

WORDS = "tulip harbour seven crayon"
NOON = datetime.datetime.fromisoformat("2031-05-04T12:00:00+02:00")


class Clock:
    now = NOON

    def __call__(self):
        return self.now

    def wait(self, **time):
        self.now += datetime.timedelta(**time)


@pytest.fixture(autouse=True)
def cheap_hashes(monkeypatch):
    """Hashes of little work: what they cost is tested elsewhere."""
    from argon2 import PasswordHasher

    cheap = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    monkeypatch.setattr(passwords, "_hasher", lambda: cheap)
    passwords._of_nobody.cache_clear()
    yield
    passwords._of_nobody.cache_clear()


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def signs(tmp_path, clock):
    with Store.open(tmp_path / "record.sqlite", create=True) as store:
        people = People(store, clock=clock, site=("North Bay",))
        people.add("Ada", "administrator", by="the test", password=WORDS)
        people.add("Otto", "operator", by="Ada", password=WORDS)
        yield SignIns(people)


def test_a_sign_in_ends_after_half_an_hour_of_silence_and_after_twelve_hours_in_any_case(signs, clock):
    silent = signs.by_password("otto", WORDS).token
    clock.wait(minutes=29)
    assert signs.visitor(silent).name == "Otto"
    clock.wait(minutes=29)
    assert signs.visitor(silent), "a request counts the half hour anew"
    clock.wait(minutes=30)
    assert signs.visitor(silent) is None
    busy = signs.by_password("otto", WORDS).token
    for _ in range(35):
        clock.wait(minutes=20)
        assert signs.visitor(busy)
    clock.wait(minutes=20)
    assert signs.visitor(busy) is None, "twelve hours are over"


def test_a_sign_in_by_pin_lasts_shorter(signs, clock):
    ada = signs.by_password("Ada", WORDS).visitor
    tablet = signs.pair(ada, "wet bench 2")
    signs.set_pin(ada, WORDS, "481516")
    token = signs.by_pin(tablet, "Ada", "481516").token
    clock.wait(minutes=14)
    assert signs.visitor(token).way == "pin"
    clock.wait(minutes=15)
    assert signs.visitor(token) is None
    busy = signs.by_pin(tablet, "Ada", "481516").token
    for _ in range(23):
        clock.wait(minutes=10)
        assert signs.visitor(busy)
    clock.wait(minutes=10)
    assert signs.visitor(busy) is None


def test_a_pin_needs_the_password_to_be_set_and_a_pairing_needs_an_administrator(signs):
    otto = signs.by_password("Otto", WORDS).visitor
    for refused in (
        lambda: signs.set_pin(otto, "wrong", "481516"),
        lambda: signs.pair(otto, "wet bench 2"),
        lambda: signs.set_pin(otto, WORDS, "123456"),
    ):
        with pytest.raises(BadInput):
            refused()
    assert not signs.store.account("Otto").pin_hash
    assert not signs.tablets()


def test_a_link_works_once_and_for_two_days(signs, clock):
    people = signs.people
    first, second = people.link("Otto", by="Ada").link, people.link("Otto", by="Ada").link
    assert people.name_of_link(first) == "", "a new link ends the one before"
    assert people.name_of_link(second) == "Otto"
    clock.now += LINK_LASTS
    assert people.name_of_link(second) == ""
    third = people.link("Otto", by="Ada").link
    with pytest.raises(BadInput):
        people.use_link(third, "short")
    assert people.use_link(third, "kettle orbit maple twelve") == "Otto"
    with pytest.raises(BadInput, match="used"):
        people.use_link(third, "kettle orbit maple eleven")
    assert signs.program(third) is None, "a link is no token of a program"


def test_a_token_of_a_program_ends_on_its_day(signs, clock):
    otto = signs.by_password("Otto", WORDS).visitor
    token = signs.make_token(otto, "furnace logger", ("log",), days=7)
    assert signs.program(token).may("log")
    assert not signs.program(token).may("read")
    clock.wait(days=7)
    assert signs.program(token) is None
    assert signs.own_tokens(otto) == ()


def test_a_hash_of_older_parameters_is_renewed_at_the_next_sign_in(signs):
    from argon2 import PasswordHasher

    from filmwright.record import AccountChange

    older = PasswordHasher(time_cost=2, memory_cost=64, parallelism=1).hash(WORDS)
    signs.store.change_account("Otto", AccountChange(password_hash=older), by="Ada", when=NOON.isoformat())
    assert signs.by_password("Otto", WORDS)
    assert signs.store.account("Otto").password_hash != older
    assert signs.by_password("Otto", WORDS)


def test_words_of_the_place_and_of_the_person_make_no_password(signs):
    for weak in ("northbay northbay", "otto operator 2031"):
        with pytest.raises(BadInput):
            signs.people.set_password("Otto", weak, by="Ada")


def test_names_are_one_whatever_the_capitals_and_blanks(signs):
    assert signs.by_password("  OTTO ", WORDS)
    with pytest.raises(BadInput):
        signs.people.add("otto", "reader", by="Ada", password=WORDS)


def test_the_roles_are_those_of_the_record():
    assert ROLES == KEPT_ROLES


def test_a_refused_sign_in_is_logged_without_a_name_that_is_not_known(signs):
    assert signs.by_password("my password by mistake", "x", address="198.51.100.7") is None
    assert signs.by_password("Otto", "x", address="198.51.100.7") is None
    newest, before = signs.people.lines(2)
    assert (newest.name, newest.who, newest.text) == ("refused", "Otto", "wrong password, from 198.51.100.7")
    assert before.who == "an unknown name"
    assert "mistake" not in str(signs.people.lines())
