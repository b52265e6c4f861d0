"""Finished lots are not looked at again until somebody writes to them; on both databases."""

import pytest

from filmwright.record import Ending, Store

RULES = "form 1"


def _ending(lot, head, rules=RULES):
    return Ending(lot=lot.name, head=head, rules=rules, told="{}")


@pytest.mark.analytic
def test_an_ending_holds_until_the_next_entry_and_for_its_rules(place, make_lot, make_event):
    lot, other = make_lot(), make_lot(name="K7M-4H8")
    with Store.open(place, create=True) as store, Store.open(place) as another:
        store.start_lot(lot)
        store.start_lot(other)
        store.append([make_event(), make_event()])
        assert store.going(RULES).heads == {lot.name: 2, other.name: 0}
        store.keep_endings([_ending(lot, 2), _ending(lot, 2)])
        assert another.going(RULES).heads == {other.name: 0}
        assert another.going(RULES).lots == 2
        assert another.going("form 2").heads == {lot.name: 2, other.name: 0}
        another.append([make_event()])
        another.append([make_event()])
        assert store.going(RULES).heads == {lot.name: 4, other.name: 0}
        store.keep_endings([_ending(lot, 3)])
        assert lot.name in store.going(RULES).heads, "worked out before the last entry was written"
        store.keep_endings([_ending(lot, 4), _ending(other, 0)])
        assert another.going(RULES).heads == {}, store.endings(RULES)
        last = store.endings(RULES)
        assert [(each.lot, each.head) for each in last] == [(lot.name, 2), (lot.name, 4), (other.name, 0)]
        assert store.endings(RULES, after=last[-2].number) == last[-1:]
        assert store.endings(RULES, lots=[other.name]) == last[-1:]
        assert store.newest(1) == (other.name,)
        assert store.newest(5, skip=1) == (lot.name,)
        store.append([make_event(lot=other.name)])
        assert another.going(RULES).heads == {other.name: 1}
        assert store.verify(lot.name).sound


@pytest.mark.analytic
def test_endings_go_along_into_a_copy(place, tmp_path, make_lot, make_event):
    lot = make_lot()
    with Store.open(place, create=True) as store, Store.open(tmp_path / "copy.sqlite", create=True) as copy:
        store.start_lot(lot)
        store.append([make_event(), make_event()])
        store.keep_endings([_ending(lot, 2)])
        store.append([make_event()])
        store.keep_endings([_ending(lot, 3)])
        store.copy_into(copy, lambda *_: None)
        assert copy.going(RULES).heads == {}
        copy.append([make_event()])
        assert copy.going(RULES).heads == {lot.name: 4}
        assert copy.verify(lot.name).sound
