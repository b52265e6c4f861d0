"""Every address that takes something, given made-up fields, files and JSON: an answer in words, never a fault of the program."""

import ast
import importlib
import json
import os
import pkgutil
import re
import shutil
import uuid
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns, passwords
from filmwright.web import Settings, application, pages
from filmwright.web.app import page_routes
from filmwright.web.limits import Shares, Waits

pytestmark = pytest.mark.property

WORDS = "tulip harbour seven crayon"
EXAMPLES = int(os.environ.get("FILMWRIGHT_API_EXAMPLES", "8"))
"""Of each address and form; ``tools/proof/fuzz_api.py`` takes many more."""
POSTS = sorted({each.path for each in page_routes() if "POST" in each.methods})
READERS = {"text", "many", "get", "_secret", "_text", "_object", "pop"}
"""Functions by which a handler takes what was sent."""


def names_read(path):
    """Every field that the handlers of a source ask for: a new field is made up too."""
    found = set()
    for node in ast.walk(ast.parse(Path(path).read_text("utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in READERS:
            found |= {
                each.value
                for each in node.args
                if isinstance(each, ast.Constant) and isinstance(each.value, str)
            }
    return {each for each in found if re.fullmatch(r"[a-z_]{2,20}", each)}


def names_by_address():
    """The fields of each address: those of its source, and those that every form may have."""
    found = {}
    for each in pkgutil.iter_modules(pages.__path__):
        module = importlib.import_module(f"{pages.__name__}.{each.name}")
        names = names_read(module.__file__) | {"entry_id", "seen", "who"}
        found |= {route.path: sorted(names) for route in module.routes if "POST" in route.methods}
    return found


NAMES = names_by_address()
USUAL = (
    "", " ", "0", "-1", "1", "1e999", "nan", "58 nm", "5 min", "1.1", "01A", "W1", "go", "scrap", "note", "set", "start", "finish",
    "flow", "withdraw", "split", "cleave", "enter", "leave", "yes", "theirs", "mine", "operator", "role", "link", "pin", "read",
    "{}", "[]", "null", '{"kind": "note", "text": "x"}', '{"kind": [], "value": {}}', "[1, 2]", "\0", "\r\nx: y", "../../x", "a" * 3000,
    "2026-01-05T08:00:00+01:00", "2026-13-45", "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "😀\u202e", "'; --", "%s%n",
    str(uuid.UUID(int=7)), "delay-line/plan.yaml", "up", "down", "evaporator", "999999999999999999999999", "1/0", "٣",
)  # fmt: skip
word = st.one_of(
    st.sampled_from(USUAL), st.text(max_size=30).map(lambda each: each.encode("utf-8", "ignore").decode())
)


def fields_of(path):
    """Some fields of an address, each once or more often."""
    return st.dictionaries(st.sampled_from(NAMES[path]), st.lists(word, min_size=1, max_size=3), max_size=12)


raw = st.one_of(
    st.binary(max_size=60), st.sampled_from([b"VG [V],ID [A]\n0,1e-9\n1,2e-9\n", b"PK\x03\x04", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b""])
)  # fmt: skip
files = st.lists(st.tuples(st.sampled_from(["files", "photo", "x"]), st.tuples(word, raw)), max_size=3)


def json_of(path):
    """JSON of any shape, with the names that the address knows here and there."""
    known = st.sampled_from([*NAMES[path], "taps", "entries"])
    return st.recursive(
        st.none() | st.booleans() | st.integers(-(2**70), 2**70) | st.floats() | word,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(known | word, inner, max_size=6),
        max_leaves=12,
    )


@pytest.fixture(scope="module")
def lab(story, tmp_path_factory):
    """An administrator's browser before a copy of the invented bench, with hashes of little work."""
    from argon2 import PasswordHasher

    real, cheap = passwords._hasher, PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    passwords._hasher = lambda: cheap
    passwords._of_nobody.cache_clear()
    folder = tmp_path_factory.mktemp("posts") / "bench"
    shutil.copytree(story.record.parent, folder)
    plans = folder / story.plans.relative_to(story.record.parent)
    with (
        Bench.open(folder / story.record.name, plans=plans) as bench,
        TestClient(
            application(bench, Settings(plans=plans, shared=True, names=())),
            base_url="https://bench.example",
            follow_redirects=False,
        ) as client,
    ):
        signs = SignIns(People(bench.store))
        signs.people.add("ada", "administrator", by="the test", password=WORDS)
        client.bench, client.signs, client.head = bench, signs, ""
        yield client
    passwords._hasher = real
    passwords._of_nobody.cache_clear()


def ready(client):
    """Signed in, whatever was sent before; the head that a form of this browser carries."""
    client.app.state.waits = Waits()
    client.app.state.shares = Shares()
    held = client.cookies.get("__Host-session", "", domain="bench.example")
    signs = client.signs
    visitor = signs.visitor(held) if held else None
    if visitor is None or visitor.role != "administrator":
        signs.people.set_active("ada", True, by="the test")
        signs.people.set_role("ada", "administrator", by="the test")
        client.cookies.clear()
        client.cookies.set("__Host-session", signs.by_password("ada", WORDS).token, domain="bench.example")
        client.head = ""
    if not client.head:
        client.head = re.search(r'data-token="([0-9a-f]{64})"', client.get("/offline").text)[1]
    return {"x-form-token": client.head, "accept": "application/json"}


def address(client, path):
    """A concrete address: things that are there, so that the handler is reached."""
    lot = next(iter(client.bench.heads()))
    there = {
        "lot": lot, "code": client.bench.flow(lot).steps[1].code, "wafer": "W1", "tray": "none", "link": "none", "sha256": "0" * 64,
        "name": "evaporator" if path.startswith("/tool") else "delay-line/plan.yaml",
    }  # fmt: skip
    if "{tray}" in path:
        sent = client.post(
            f"/lot/{lot}/measurements/files",
            headers=ready(client),
            files={"files": ("t.csv", b"VG,ID\n0,1\n1,2\n")},
        )
        there["tray"] = sent.headers["location"].rsplit("/", 1)[1]
    return re.sub(r"\{(\w+)(:\w+)?\}", lambda each: there[each[1]], path)


def made_up(client, path, send):
    """Runs one kind of sending with made-up content."""

    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, phases=[Phase.generate], database=None,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(st.data())
    def run(data):
        head, at = ready(client), address(client, path)
        answer = send(client, at, head, data)
        assert answer.status_code < 500, (path, answer.text[-800:])
        if (
            answer.headers.get("content-type", "").startswith("application/json")
            and answer.status_code >= 400
        ):
            assert {"said", "state"} & set(answer.json())

    run()


def test_fields_are_found_in_the_sources():
    assert set(NAMES) == set(POSTS)
    names = {name for each in NAMES.values() for name in each}
    assert {
        "name",
        "entry",
        "kind",
        "wafer",
        "photo",
        "password",
        "pin",
        "scope",
        "theme",
        "taps",
        "why",
    } <= names
    assert len(POSTS) > 30


@pytest.mark.parametrize("path", POSTS)
def test_made_up_fields_and_files_are_answered_in_words(lab, path):
    def send(client, at, head, data):
        words, sent = data.draw(fields_of(path)), data.draw(files)
        words = {name: each for name, each in words.items() if name != "token"}
        return client.post(at, data=words, files=[(name, (f"{called or 'x'}", content)) for name, (called, content) in sent] or None,
                           headers=head)  # fmt: skip

    made_up(lab, path, send)


@pytest.mark.parametrize("path", POSTS)
def test_made_up_json_is_answered_in_words(lab, path):
    def send(client, at, head, data):
        body = json.dumps(data.draw(json_of(path))).encode("utf-8", "surrogatepass")
        return client.post(at, content=body, headers={**head, "content-type": "application/json"})

    made_up(lab, path, send)


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data", b"x"), ("multipart/form-data; boundary=x", b"--x\r\nno end"), ("application/json", b"{"),
        ("application/json", b"[" * 5000), ("application/json", b"\xff\xfe"), ("application/x-www-form-urlencoded", b"%ff=%zz&" * 50),
        ("application/x-www-form-urlencoded; charset=nonsense", b"a=b"), ("application/json; charset=utf-16", b"\0{\0}"),
    ],
)  # fmt: skip
def test_broken_bodies_are_answered_in_words(lab, kind, body):
    for path in ("/queue", "/theme", "/photos", "/me/name", "/lots", "/people/add"):
        answer = lab.post(path, content=body, headers={**ready(lab), "content-type": kind})
        assert answer.status_code < 500, (path, answer.text[-500:])
