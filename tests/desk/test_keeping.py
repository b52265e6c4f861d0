"""A record is proved, backed up while it is written to, brought back and moved; every digest stays as it was."""

import json
import sqlite3
import threading
import uuid
from contextlib import closing
from pathlib import Path

import pytest

from filmwright.desk import record_backup, record_copy, record_restore, record_verify
from filmwright.errors import BadInput
from filmwright.knowledge import Calibration
from filmwright.record import (
    AcceptedCalibration,
    Account,
    Event,
    LogbookEntry,
    Lot,
    MeasurementFile,
    Store,
    digest,
)

NOON = "2031-05-04T12:00:00+02:00"
LOT = "K7M-4H7"
HASH = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aGFzaGhhc2hoYXNo"


def _event(**more):
    given = {"id": str(uuid.uuid4()), "lot": LOT, "step": "1", "kind": "note", "text": "purple — Å",
             "happened": NOON, "written": NOON}  # fmt: skip
    return Event(**{**given, **more})


def _fill(place):
    flow = "flow: invented\n"
    with Store.open(place, create=True) as store:
        store.start_lot(Lot(name=LOT, flow_text=flow, flow_digest=digest(flow), knowledge_version="1",
                            code_version="0.1.0", wafers=("A",), started=NOON, invented=True, seed=2**70))  # fmt: skip
        photo = store.keep_blob(b"photo" * 1000, "image/png", "edge.png")
        store.append([_event() for _ in range(40)])
        store.append(
            [_event(kind="photo", name="edge", text="", sha256=photo), _event(value=5e-324, unit="nm")]
        )
        store.enter([LogbookEntry(id=str(uuid.uuid4()), book="tool:evaporator", kind="note", text="quiet",
                                  happened=NOON, written=NOON)])  # fmt: skip
        store.keep_file(
            MeasurementFile(lot=LOT, name="t.csv", sha256=digest(b"1,2"), kept=NOON, width=1e-4), b"1,2"
        )
        store.add_account(Account(name="M. Sample", role="administrator", created=NOON, password_hash=HASH),
                          by="M. Sample")  # fmt: skip
        store.accept(AcceptedCalibration(lot=LOT, who="invented", when=NOON, calibration=Calibration(
            of="deposition rate", tool="evaporator", value=1e-10, std=2e-12, unit="ang/s", date="2031-05-04",
            material="titanium", kind="fitted", evidence="invented")))  # fmt: skip
    return place


@pytest.fixture(params=["sqlite", "postgres"])
def place(request, tmp_path):
    if request.param == "sqlite":
        return _fill(tmp_path / "run.sqlite")
    return _fill(request.getfixturevalue("postgres_place"))


def _content(place):
    with Store.open(place) as store:
        return (store.lots(), store.events(LOT), store.logbook("tool:evaporator"), store.files(LOT, every=True),
                store.accounts(), store.logbook("accounts"), store.accepted(), store.kept(),
                [store.raw(each.sha256) for each in store.kept()])  # fmt: skip


@pytest.mark.whole
def test_backup_and_restore_give_the_same_with_the_same_ends_of_chains(place, tmp_path):
    before = record_verify(place)
    assert (before.problems, before.files, len(before.chains)) == ((), 2, 3)
    saved = record_backup(tmp_path / "saved", place)
    assert saved.chains == before.chains
    with pytest.raises(BadInput, match="name another folder"):
        record_backup(tmp_path / "saved", place)
    back = record_restore(tmp_path / "saved", tmp_path / "back.sqlite")
    assert back.chains == before.chains
    assert _content(tmp_path / "back.sqlite") == _content(place)
    assert sorted(each.name for each in tmp_path.iterdir() if each.name.startswith(".")) == []


@pytest.mark.whole
def test_a_record_moves_to_postgresql_and_back_with_every_digest(tmp_path, postgres_place):
    place = _fill(tmp_path / "run.sqlite")
    there = record_copy(postgres_place, place)
    back = record_copy(str(tmp_path / "back.sqlite"), postgres_place)
    assert there.chains == back.chains == record_verify(place).chains
    assert _content(place) == _content(postgres_place) == _content(tmp_path / "back.sqlite")
    with Store.open(postgres_place) as store:
        assert store.append([_event()]) == 1, "numbers go on after those that were copied"
    with pytest.raises(BadInput, match="two histories"):
        record_copy(postgres_place, place)


@pytest.mark.whole
def test_a_backup_comes_back_into_an_empty_database_only(tmp_path, postgres_place):
    place = _fill(tmp_path / "run.sqlite")
    record_backup(tmp_path / "saved", place)
    assert record_restore(tmp_path / "saved", postgres_place).chains == record_verify(place).chains
    with pytest.raises(BadInput, match="two histories"):
        record_restore(tmp_path / "saved", postgres_place, replace=True)


@pytest.mark.property
def test_a_backup_during_load_is_one_moment_of_it(place, tmp_path):
    stop, kept = threading.Event(), []

    def write():
        with Store.open(place, patience=20.0) as store:
            while not stop.is_set():
                entry = _event(text="meanwhile")
                store.append([entry])
                kept.append(entry.id)

    writers = [threading.Thread(target=write) for _ in range(3)]
    for writer in writers:
        writer.start()
    try:
        while len(kept) < 10:
            stop.wait(0.01)
        first = set(kept)
        saved = record_backup(tmp_path / "saved", place)
    finally:
        stop.set()
        for writer in writers:
            writer.join()
    assert saved.problems == ()
    record_restore(tmp_path / "saved", tmp_path / "back.sqlite")
    with Store.open(tmp_path / "back.sqlite") as back, Store.open(place) as store:
        events = back.events(LOT)
        assert events == store.events(LOT)[: len(events)]
        assert first <= {each.id for each in events}
        assert store.verify(LOT, head=back.verify(LOT).head).sound


@pytest.mark.whole
def test_a_record_that_is_there_gives_way_only_when_asked_and_is_kept(tmp_path):
    place = _fill(tmp_path / "run.sqlite")
    record_backup(tmp_path / "saved", place)
    with Store.open(place) as store:
        store.append([_event(text="after the backup")])
    with pytest.raises(BadInput, match="--replace"):
        record_restore(tmp_path / "saved", place)
    with Store.open(place), pytest.raises(BadInput, match="stop filmwright serve"):
        record_restore(tmp_path / "saved", place, replace=True)
    done = record_restore(tmp_path / "saved", place, replace=True)
    assert len(_content(place)[1]) == 42
    (aside,) = tmp_path.glob("run-before-*.sqlite")
    assert str(aside) in done.did
    assert len(_content(aside)[1]) == 43


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda folder: (folder / "manifest.json").unlink(), "name the folder that the backup made"),
        (lambda folder: (folder / "manifest.json").write_text("{}"), "name the folder that the backup made"),
        (
            lambda folder: next((folder / "record.sqlite.files").rglob("*/*")).write_bytes(b"x"),
            "changed bytes in",
        ),
        (
            lambda folder: next((folder / "record.sqlite.files").rglob("*/*")).unlink(),
            "no record.sqlite.files",
        ),
        (lambda folder: _append(folder / "record.sqlite"), "changed bytes in record.sqlite"),
        (lambda folder: _cut(folder), "end elsewhere"),
    ],
)
def test_a_spoilt_backup_is_not_brought_back(tmp_path, spoil, told):
    place = _fill(tmp_path / "run.sqlite")
    record_backup(tmp_path / "saved", place)
    spoil(tmp_path / "saved")
    with pytest.raises(BadInput, match=told):
        record_restore(tmp_path / "saved", tmp_path / "back.sqlite")
    assert not (tmp_path / "back.sqlite").exists()


def _append(path):
    path.write_bytes(path.read_bytes() + b"\0")


def _cut(folder):
    """Take the last entry away and make the list of hashes fit: the ends of the chains still tell."""
    _tamper(folder / "record.sqlite", "DELETE FROM events WHERE position = 42")
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["sha256"]["record.sqlite"] = digest((folder / "record.sqlite").read_bytes())
    (folder / "manifest.json").write_text(json.dumps(manifest))


def _tamper(path, statement):
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        for (name,) in other.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            other.execute(f"DROP TRIGGER {name}")
        other.execute(statement)
        other.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE events SET text = 'green' WHERE position = 7", "lot K7M-4H7: entry 7 was changed"),
        (
            "UPDATE logbooks SET text = 'loud' WHERE book = 'tool:evaporator'",
            "tool:evaporator: line 1 was changed",
        ),
        ("UPDATE calibrations SET who = 'nobody'", "calibration 1 of lot K7M-4H7 was changed"),
        ("UPDATE files SET width = 2e-4", "the entry of file t.csv of lot K7M-4H7 was changed"),
    ],
)
def test_verify_names_the_first_thing_that_was_changed(filmwright, tmp_path, statement, told):
    place = _fill(tmp_path / "run.sqlite")
    assert filmwright("record", "verify", "--record", place).code == 0
    _tamper(place, statement)
    said = filmwright("record", "verify", "--record", place)
    assert (said.code, told in said.out) == (1, True)
    told_to_programs = filmwright("record", "verify", "--record", place, "--json").fields
    assert (told_to_programs["sound"], told in told_to_programs["problems"][0]) == (False, True)
    with pytest.raises(BadInput, match="would hide it"):
        record_backup(tmp_path / "saved", place)
    assert not (tmp_path / "saved").exists()


@pytest.mark.analytic
def test_verify_reads_every_kept_file_again(tmp_path):
    place = _fill(tmp_path / "run.sqlite")
    path = tmp_path / "run.sqlite.files" / digest(b"1,2")[:2] / digest(b"1,2")
    path.write_bytes(b"1,3")
    assert record_verify(place).problems == (f"file t.csv: changed bytes in file {digest(b'1,2')[:12]}",)
    path.unlink()
    assert record_verify(place).problems == (f"file t.csv: no file {digest(b'1,2')[:12]} there",)


@pytest.mark.analytic
@pytest.mark.parametrize("what", ["backup", "copy", "restore"])
def test_what_is_stopped_in_the_middle_leaves_nothing(tmp_path, what):
    place = _fill(tmp_path / "run.sqlite")
    record_backup(tmp_path / "saved", place)

    def stop(done, total, of):
        if of in ("pages", "events"):
            raise KeyboardInterrupt

    there = sorted(tmp_path.iterdir())
    begin = {
        "backup": lambda: record_backup(tmp_path / "second", place, tell=stop),
        "restore": lambda: record_restore(tmp_path / "saved", place, replace=True, tell=stop),
        "copy": lambda: record_copy(str(tmp_path / "copy.sqlite"), place, tell=stop),
    }
    with pytest.raises(KeyboardInterrupt):
        begin[what]()
    if what == "copy":
        with Store.open(tmp_path / "copy.sqlite") as store:
            assert store.is_empty()
    else:
        assert sorted(tmp_path.iterdir()) == there
    assert record_verify(place).problems == ()


@pytest.mark.whole
def test_the_verbs_say_what_they_did(filmwright, tmp_path):
    place = _fill(tmp_path / "run.sqlite")
    said = filmwright("record", "backup", tmp_path / "saved", "--record", place)
    assert (said.code, "Sound: 3 chains, 2 kept files." in said.out) == (0, True)
    said = filmwright("record", "restore", tmp_path / "saved", "--record", tmp_path / "back.sqlite", "--json")
    assert said.fields["sound"] is True
    said = filmwright("record", "copy", tmp_path / "copy.sqlite", "--record", place)
    assert said.code == 0
    assert Path(tmp_path / "copy.sqlite").exists()
    assert filmwright("record", "backup", tmp_path / "no" / "where", "--record", place).code == 2
