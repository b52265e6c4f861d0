"""The verb that opens the bench: it says where, refuses what is not safe, and ends in order."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

pytestmark = pytest.mark.whole


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "::"])
def test_others_reach_it_only_where_people_sign_in(filmwright, host):
    said = filmwright("serve", "--host", host, "--json")
    assert said.code == 2
    assert "--shared" in said.fields["problems"][0]["remedy"]


def test_a_port_that_is_taken_is_said_before_anything_is_made(filmwright, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as other:
        said = filmwright("serve", "--port", other.getsockname()[1], "--json")
    assert said.code == 2
    assert "port" in said.fields["problems"][0]["what"]
    assert not list(tmp_path.iterdir())


def test_plans_that_are_not_there_are_said_before_anything_is_made(filmwright, tmp_path):
    said = filmwright("serve", "--plans", "nowhere", "--port", 0, "--json")
    assert said.code == 2
    assert said.fields["problems"][0]["got"] == "no such folder"
    assert not list(tmp_path.iterdir())


def test_it_serves_until_it_is_stopped_and_ends_without_a_word(tmp_path):
    words = [
        sys.executable,
        "-c",
        "from filmwright.cli import main; main()",
        "serve",
        "--port",
        "0",
        "--json",
    ]
    with subprocess.Popen(
        words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as run:
        assert run.stdout is not None
        told = json.loads(run.stdout.readline())
        with urllib.request.urlopen(told["address"], timeout=180) as answer:
            assert b"No lot here yet" in answer.read()
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=180)
    assert (run.returncode, out, err) == (0, "", "")
    assert told["lots"] == 0
    assert (tmp_path / "record.sqlite").exists()
