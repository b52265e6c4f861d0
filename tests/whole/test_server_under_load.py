"""A served record while tablets log: killed, locked, out of room, restarted, copied; what was acknowledged is there, once."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tools" / "proof"), str(ROOT / "tools")]
import kill_server  # noqa: E402
import record_trouble  # noqa: E402
import tablets  # noqa: E402
from bench_server import Served, Tablet, Tap, judged, start_lots  # noqa: E402

from filmwright.record import Store  # noqa: E402

pytestmark = pytest.mark.whole


@pytest.fixture(params=["sqlite", "postgres"])
def place(request, tmp_path):
    """A new record in each of the two databases."""
    if request.param == "sqlite":
        return tmp_path / "record.sqlite"
    return request.getfixturevalue("postgres_place")


def test_a_killed_server_has_kept_all_that_it_acknowledged(place, tmp_path):
    count, wrong = kill_server.prove_kills(place, tmp_path, kills=2, tablets=3)
    assert wrong == []
    assert count > 0


def test_tablets_at_work_lose_nothing_and_keep_nothing_twice(tmp_path):
    found = tablets.prove(tmp_path / "record.sqlite", tmp_path, tablets=3, seconds=8, pause=(0.3, 0.6))
    assert found.wrong == ()
    assert found.taps


@pytest.mark.parametrize("name", ["locked", "full disk"])
def test_a_record_that_takes_nothing_says_so_and_goes_on_afterwards(tmp_path, name):
    ((_, said, wrong),) = record_trouble.on_sqlite(tmp_path, name)
    assert wrong == []
    assert said.startswith("503")


def test_what_was_copied_while_tablets_log_is_sound(tmp_path):
    record = tmp_path / "record.sqlite"
    lots = start_lots(record, tmp_path, 1, 1)
    served = Served(record, tmp_path / "log")
    served.start()
    loggers = [kill_server.Logger(served.port, lots[0], k) for k in range(2)]
    before = Tablet(served.port, "AB")
    try:
        before.open("/")
        assert before.send(Tap(lots[0], "", (), ({"kind": "note", "text": "before"},)))[0] == 200
        for each in loggers:
            each.start()
        for words in (
            ["backup", tmp_path / "copy", "--record", record],
            ["restore", tmp_path / "copy", "--record", tmp_path / "restored.sqlite"],
            ["verify", "--record", tmp_path / "restored.sqlite"],
        ):
            done = _filmwright("record", *words)
            assert done.returncode == 0, done.stdout + done.stderr
        for each in loggers:
            each.over.set()
            each.join(60)
    finally:
        before.hang_up()
        served.kill()
    assert judged(record, lots, [before, *(each.tablet for each in loggers)]) == []
    with Store.open(tmp_path / "restored.sqlite") as copied, Store.open(record) as store:
        there, all_of_it = copied.events(lots[0]), store.events(lots[0])
    assert before.kept <= {each.id for each in there}
    assert there == all_of_it[: len(there)]


def _filmwright(*words: object) -> subprocess.CompletedProcess[str]:
    code = "from filmwright.cli import main; main()"
    return subprocess.run([sys.executable, "-c", code, *map(str, words)], capture_output=True, text=True,
                          check=False, env={**os.environ})  # fmt: skip
