"""The table of who may do what, against the list written out here by hand from the roles' descriptions."""

import pytest

from filmwright.desk.bench.permissions import (
    ACTIONS,
    ROLES,
    WORDS,
    action_of_entry,
    may,
    read_role,
    refuse,
)
from filmwright.errors import BadInput
from filmwright.record import EVENT_KINDS

BY_HAND = {
    "reader": {"anyone", "read", "own things"},
    "operator": {"anyone", "read", "own things", "log"},
    "process owner": {
        "anyone",
        "read",
        "own things",
        "log",
        "decide",
        "acknowledge",
        "save flow",
        "edit tools",
    },
    "administrator": set(ACTIONS),
}


@pytest.mark.analytic
@pytest.mark.parametrize("role", ROLES)
def test_each_role_may_what_its_description_says_and_nothing_else(role):
    assert {action for action in ACTIONS if may(role, action)} == BY_HAND[role]


@pytest.mark.analytic
def test_who_is_not_signed_in_may_only_what_anyone_may():
    assert {action for action in ACTIONS if may(None, action)} == {"anyone"}


@pytest.mark.property
@pytest.mark.parametrize("way", ["password", "pin", "token", "alone"])
@pytest.mark.parametrize("action", ACTIONS)
def test_a_higher_role_may_all_that_a_lower_one_may_however_one_came_in(way, action):
    allowed = [may(role, action, way) for role in ROLES]
    assert allowed == sorted(allowed)


@pytest.mark.analytic
def test_a_pin_does_not_administer_and_a_token_only_reads_and_logs():
    withheld = {
        each for each in ACTIONS if may("administrator", each) and not may("administrator", each, "pin")
    }
    assert withheld == {"own things", "administer"}
    assert {each for each in ACTIONS if may("administrator", each, "token")} == {"anyone", "read", "log"}
    assert all(may("administrator", each, "alone") for each in ACTIONS)


@pytest.mark.analytic
def test_decisions_are_more_than_entries():
    assert {kind: action_of_entry(kind) for kind in EVENT_KINDS if action_of_entry(kind) != "log"} == {
        "hold": "decide",
        "split": "decide",
        "acknowledge": "acknowledge",
        "flow": "save flow",
    }


@pytest.mark.analytic
def test_roles_are_read_as_people_write_them():
    assert read_role(" Process-Owner ") == "process owner"
    with pytest.raises(BadInput) as refused:
        read_role("operater")
    assert 'did you mean "operator"' in str(refused.value)


@pytest.mark.property
@pytest.mark.parametrize("way", ["password", "pin", "token"])
@pytest.mark.parametrize("role", [None, *ROLES])
@pytest.mark.parametrize("action", ACTIONS)
def test_every_refusal_says_what_it_takes(action, role, way):
    said = str(refuse(action, role, way))
    assert WORDS[action] in said
    assert "None" not in said
