"""Who writes without having seen the newest entry of a step is told, and nothing is kept twice."""

from dataclasses import replace

import pytest

from filmwright.errors import BadInput
from filmwright.record import Conflict

LOT = "K7M-4H7"


@pytest.mark.analytic
def test_an_entry_by_one_who_has_not_seen_the_newest_is_refused(store, make_event):
    store.append([make_event(kind="start", name="", value=None, who="M. Sample")])
    done = make_event(kind="finish", name="", value=None, who="N. Pattern", happened="2031-05-04T14:02:00+02:00",
                      written="2031-05-04T14:02:00+02:00")  # fmt: skip
    mine = make_event(
        kind="finish", name="", value=None, who="M. Sample", written="2031-05-04T14:03:00+02:00"
    )
    store.append([done], seen={(LOT, "3.2"): 1})
    with pytest.raises(
        Conflict, match=r"someone else \(N\. Pattern\) finished step 3\.2 at 14:02"
    ) as refused:
        store.append([mine], seen={(LOT, "3.2"): 1})
    assert refused.value.entries == (done,)
    assert isinstance(refused.value, BadInput)
    assert len(store.events(LOT)) == 2
    assert store.append([mine], seen={(LOT, "3.2"): 2}) == 1


@pytest.mark.analytic
def test_entries_of_other_steps_are_no_conflict(store, make_event):
    store.append([make_event(step="1"), make_event(step="3.20")])
    assert store.append([make_event()], seen={(LOT, "3.2"): 0}) == 1


@pytest.mark.analytic
def test_a_retry_of_what_is_there_is_no_conflict(store, make_event):
    mine, more = make_event(), make_event(name="power")
    store.append([mine, more], seen={(LOT, "3.2"): 0})
    store.append([make_event(name="pressure")])
    assert (
        store.append([mine, replace(more, written="2031-05-04T13:00:00+02:00")], seen={(LOT, "3.2"): 0}) == 0
    )


@pytest.mark.analytic
def test_a_retry_with_something_new_is_told_of_what_others_wrote_not_of_its_own(store, make_event):
    mine, theirs = make_event(), make_event(name="pressure", who="")
    store.append([mine, theirs])
    with pytest.raises(Conflict, match=r"someone else wrote about step 3\.2") as refused:
        store.append([mine, make_event(name="power")], seen={(LOT, "3.2"): 0})
    assert refused.value.entries == (theirs,)
    assert store.events(LOT) == (mine, theirs)


@pytest.mark.analytic
def test_ones_own_entry_from_another_tablet_on_another_day_is_named_so(store, make_event):
    store.append([make_event(kind="skip", text="twin wafer", who="M. Sample")])
    later = make_event(who="M. Sample", written="2031-05-05T08:00:00+02:00")
    with pytest.raises(Conflict, match=r"you, elsewhere, skipped step 3\.2 at 12:00 on 2031-05-04"):
        store.append([later], seen={(LOT, "3.2"): 0})


@pytest.mark.analytic
def test_what_an_entry_is_about_must_be_there(store, make_event, make_lot):
    first = make_event()
    store.append([first])
    assert store.append([make_event(value=46.0, about=first.id)]) == 1
    with pytest.raises(BadInput, match="take the id from the log"):
        store.append([make_event(value=46.0, about=make_event().id)])
    store.start_lot(make_lot(name="NMJ-9JF"))
    with pytest.raises(BadInput, match="take the id from the log"):
        store.append([make_event(lot="NMJ-9JF", value=46.0, about=first.id)])
    both = make_event(name="power")
    assert store.append([both, make_event(name="power", value=1.0, about=both.id)]) == 2


@pytest.mark.analytic
def test_the_file_of_an_entry_must_be_kept_before(store, make_event):
    photo = make_event(kind="photo", name="edge", value=None, sha256="ab" * 32)
    with pytest.raises(BadInput, match="keep the file, then the entry"):
        store.append([photo])
    sha256 = store.keep_blob(b"picture", "image/png", "edge.png")
    assert store.append([replace(photo, sha256=sha256)]) == 1
    assert store.raw(sha256) == b"picture"
    assert [(each.media, each.name, each.size) for each in store.kept()] == [("image/png", "edge.png", 7)]


@pytest.mark.analytic
def test_pieces_and_wafers_from_other_lots_have_entries_of_their_own(store, make_event):
    with pytest.raises(BadInput, match="the wafer of an entry"):
        store.append([make_event(wafer="A1")])
    store.append([make_event(kind="cleave", wafer="A", name="A1", value=None, step="")])
    store.append(
        [make_event(wafer="A1"), make_event(kind="enter", wafer="C", name="NMJ-9JF", value=None, step="")]
    )
    assert store.append([make_event(wafer="C")]) == 1
    for name in ("A1", "B", "two words"):
        with pytest.raises(BadInput, match="give it a name of its own"):
            store.append([make_event(kind="cleave", wafer="A", name=name, value=None, step="")])
