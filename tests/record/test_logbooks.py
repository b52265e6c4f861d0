"""Logbooks of tools, baths, the site and accounts: append-only chains of their own."""

import hashlib
import json
from dataclasses import asdict, replace

import pytest

from filmwright.errors import BadInput
from filmwright.record import LogbookEntry


@pytest.mark.analytic
def test_lines_come_back_the_same_in_their_order_per_book(store, make_line):
    lines = (make_line(), make_line(kind="state", name="down", value=None, text="pump hums — ± 3 µm"))
    bath = make_line(book="bath:buffered oxide etch", kind="bath", name="fresh", value=None)
    assert store.enter([lines[0], bath, lines[1]]) == 3
    assert store.logbook("tool:evaporator") == lines
    assert store.logbook("tool:evaporator", after=1) == lines[1:]
    assert store.logbook("bath:buffered oxide etch") == (bath,)
    assert store.logbook("site") == ()
    assert store.books() == ("bath:buffered oxide etch", "tool:evaporator")


@pytest.mark.analytic
def test_a_line_sent_twice_is_kept_once_and_never_changed(store, make_line):
    line = make_line()
    assert store.enter([line, line]) == 1
    assert store.enter([replace(line, written="2031-05-04T13:00:00+02:00")]) == 0
    with pytest.raises(BadInput, match="correction as a new entry"):
        store.enter([make_line(), replace(line, value=2e-10)])
    assert store.enter([make_line(value=2e-10, about=line.id)]) == 1
    with pytest.raises(BadInput, match="take the id from the log"):
        store.enter([make_line(book="site", about=line.id)])
    with pytest.raises(BadInput, match="keep the file"):
        store.enter([make_line(sha256="ab" * 32)])
    assert len(store.logbook("tool:evaporator")) == 2


@pytest.mark.reference
def test_a_line_seals_all_before_it(store, make_line):
    lines = (make_line(), make_line(value=None, text="Å"))
    store.enter(lines)
    head = hashlib.sha256(b'{"book":"tool:evaporator"}').hexdigest()
    for line in lines:
        told = json.dumps(asdict(line), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        head = hashlib.sha256((head + told).encode()).hexdigest()
    checked = store.verify_book("tool:evaporator")
    assert (checked.sound, checked.entries, checked.head) == (True, 2, head)
    assert store.verify_book("tool:evaporator", head=head[:10]).sound
    assert not store.verify_book("tool:evaporator", head="0" * 10).sound


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"id": "one"}, "a UUID"),
        ({"book": "diary"}, "the name of a logbook"),
        ({"book": "tool:"}, "the name of a logbook"),
        ({"kind": "gossip"}, "kind of a line"),
        ({"kind": "state", "name": "broken"}, "up, limited, down"),
        ({"kind": "bath", "name": "old"}, "fresh, topped up, used, discarded"),
        ({"name": ""}, "named"),
        ({"kind": "note", "name": "", "value": None, "text": ""}, "an empty line"),
        ({"value": float("nan")}, "finite"),
        ({"happened": "yesterday"}, "ISO time"),
        ({"happened": "2031-05-05T12:00:00+02:00"}, "before it happens"),
        ({"about": "the last"}, "the id of an entry"),
        ({"sha256": "ab"}, "SHA-256"),
        ({"text": "a\0b"}, "plain text"),
    ],
)
def test_a_line_that_says_nothing_later_is_refused(make_line, changes, told):
    with pytest.raises(BadInput, match=told):
        make_line(**changes)


@pytest.mark.analytic
def test_ids_are_kept_in_one_form(make_line):
    line = make_line()
    assert LogbookEntry(**{**asdict(line), "id": line.id.upper()}) == line
