"""Several processes, and one that is killed in the middle."""

import os
import signal
import sqlite3
import subprocess
import sys
import textwrap
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest

from filmwright.record import Conflict, Event, Store

WRITER = textwrap.dedent(
    """
    import sys, uuid
    from filmwright.record import Event, Store

    path, who, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
    noon = "2031-05-04T12:00:00+02:00"
    with Store.open(path, create=True) as store:
        for number in range(count):
            entry = Event(id=str(uuid.uuid4()), lot="K7M-4H7", step="1", kind="set", name="time",
            value=number,
                          unit="s", happened=noon, written=noon, who=who)
            store.append([entry])
            print(entry.id, flush=True)
    """
)


READER = """
import sys
from filmwright.record import Store

with Store.open(sys.argv[1]) as store:
    print(*(each.id for each in store.events("K7M-4H7")))
"""


def _entries(store, count):
    noon = "2031-05-04T12:00:00+02:00"
    ids = [str(uuid.uuid4()) for _ in range(count)]
    store.append(
        [Event(id=each, lot="K7M-4H7", step="1", kind="start", happened=noon, written=noon) for each in ids]
    )
    return ids


def _writer(place, who, count):
    command = [sys.executable, "-c", WRITER, str(place), who, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.mark.property
def test_two_processes_append_at_once_and_nothing_is_lost(place, store):
    writers = [_writer(place, who, 60) for who in ("one", "two")]
    acknowledged = set()
    for writer in writers:
        shown, trouble = writer.communicate(timeout=60)
        assert writer.returncode == 0, trouble
        acknowledged |= set(shown.split())
    kept = store.events("K7M-4H7")
    assert {each.id for each in kept} == acknowledged
    assert len(kept) == 120
    for who in ("one", "two"):
        assert [each.value for each in kept if each.who == who] == list(map(float, range(60)))
    assert store.verify("K7M-4H7").sound


@pytest.mark.property
def test_eight_threads_append_to_one_lot_and_nothing_is_lost_or_doubled(store, make_event):
    sent = [
        [make_event(who=f"tablet {number}", value=float(turn)) for turn in range(15)] for number in range(8)
    ]
    with ThreadPoolExecutor(8) as pool:
        for mine in [*sent, *sent]:
            pool.submit(lambda some: [store.append([each]) for each in some], mine)
    kept = store.events("K7M-4H7")
    assert sorted(each.id for each in kept) == sorted(each.id for mine in sent for each in mine)
    for number, mine in enumerate(sent):
        assert [each.id for each in kept if each.who == f"tablet {number}"] == [each.id for each in mine]
    assert store.verify("K7M-4H7").sound


@pytest.mark.property
def test_of_eight_who_finish_a_step_at_once_one_is_kept(store, make_event):
    def finish(number):
        try:
            return store.append(
                [make_event(kind="finish", who=f"tablet {number}")], seen={("K7M-4H7", "3.2"): 0}
            )
        except Conflict:
            return 0

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(finish, range(8))) == 1
    assert len(store.events("K7M-4H7")) == 1


@pytest.mark.property
def test_lots_and_logbooks_written_at_once_wait_for_their_own_kind_only(
    store, make_event, make_line, make_lot
):
    names = ("NMJ-9JF", "K7M-4H7")
    store.start_lot(make_lot(name="NMJ-9JF"))

    def work(number):
        store.append([make_event(lot=name) for name in (names if number % 2 else names[::-1])])
        store.enter([make_line(book=book) for book in ("site", "tool:evaporator", "bath:rinse")])
        store.keep_blob(b"same picture", "image/png", "edge.png")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(work, range(24)))
    for name in names:
        assert (store.verify(name).sound, store.verify(name).entries) == (True, 24)
    for book in store.books():
        assert (store.verify_book(book).sound, store.verify_book(book).entries) == (True, 24)
    assert len(store.kept()) == 1


@pytest.mark.property
@pytest.mark.parametrize("after", [3, 17, 40])
def test_a_killed_process_loses_nothing_that_it_acknowledged(place, store, after):
    writer = _writer(place, "killed", 100_000)
    acknowledged = [writer.stdout.readline().strip() for _ in range(after)]
    time.sleep(0.003)
    os.kill(writer.pid, signal.SIGKILL)
    shown, _ = writer.communicate(timeout=60)
    acknowledged += [line for line in shown.split() if len(line) == 36]
    store.close()
    with Store.open(place) as opened:
        kept = [each.id for each in opened.events("K7M-4H7")]
        assert kept[: len(acknowledged)] == acknowledged
        assert len(kept) - len(acknowledged) in (0, 1)
        assert opened.verify("K7M-4H7").sound


@pytest.mark.property
def test_writers_killed_one_after_the_other_lose_and_double_nothing(place):
    tool = Path(__file__).parents[2] / "tools" / "proof" / "kill_writers.py"
    command = [sys.executable, tool, "--kills", "6", "--writers", "4", "--place", str(place)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "all there, once, in one chain" in done.stdout
    assert not done.stdout.startswith("0 entries"), "writers that never write prove nothing"


@pytest.mark.property
def test_two_processes_make_a_record_at_once(place, make_lot):
    code = (
        "import sys\nfrom filmwright.record import Store\n"
        "with Store.open(sys.argv[1], create=True) as store:\n    assert store.lots() == ()\n"
    )
    makers = [
        subprocess.Popen([sys.executable, "-c", code, str(place)], stderr=subprocess.PIPE, text=True)
        for _ in "123"
    ]
    for maker in makers:
        _, trouble = maker.communicate(timeout=60)
        assert maker.returncode == 0, trouble
    with Store.open(place) as store:
        store.start_lot(make_lot())
        assert store.verify("K7M-4H7").sound


FULL_FOR_FILES = """
import resource, sys
from filmwright.record import Store

with Store.open(sys.argv[1]) as store:
    resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))
    store.keep_blob(b"x" * 100_000, "image/png", "edge.png")
"""


@pytest.mark.analytic
def test_a_disk_too_full_for_a_file_is_said_and_nothing_is_left_of_it(path, file_store):
    command = [sys.executable, "-c", FULL_FOR_FILES, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert "able to keep edge.png" in done.stderr
    assert "make room" in done.stderr
    assert file_store.kept() == ()
    assert [each for each in file_store.backend.folder.rglob("*") if each.is_file()] == []


FULL = WRITER.replace(
    "for number in range(count):",
    "import os, resource\n"
    "    room = os.path.getsize(path + '-wal') + 65536\n"
    "    resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))\n"
    "    for number in range(count):",
)


@pytest.mark.property
def test_a_full_disk_is_said_and_what_was_acknowledged_stays(path, file_store):
    command = [sys.executable, "-c", FULL, str(path), "full", "1000"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    acknowledged = done.stdout.split()
    assert "make room or check the disk" in done.stderr
    assert 0 < len(acknowledged) < 1000
    assert [each.id for each in file_store.events("K7M-4H7")] == acknowledged
    assert file_store.verify("K7M-4H7").sound


@pytest.mark.property
def test_a_record_that_this_process_opens_again_keeps_its_hold_on_it(path, file_store):
    """Closing any handle of a file drops all locks that the process holds on it: another process then believes itself alone."""
    [first] = _entries(file_store, 1)
    with Store.open(path) as again:
        again.lots()
    other = _writer(path, "other", 1)
    shown, trouble = other.communicate(timeout=60)
    assert other.returncode == 0, trouble
    [second] = _entries(file_store, 1)
    with closing(sqlite3.connect(path)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    reader = [sys.executable, "-c", READER, str(path)]
    kept = subprocess.run(reader, capture_output=True, text=True, timeout=60, check=True).stdout.split()
    assert kept == [first, shown.strip(), second]
