"""Markup, quotes and letters that turn a line round, in every text that is kept, through every page and every answer to a program."""

import json
import re
import shutil
import uuid
from html.parser import HTMLParser

import pytest
from fastapi.routing import APIRoute
from starlette.routing import Match, Route
from starlette.testclient import TestClient

from filmwright.desk.bench import ROLES, Bench, People, SignIns, Visitor
from filmwright.desk.bench.permissions import may
from filmwright.record import Event, LogbookEntry, Lot, MeasurementFile, digest
from filmwright.record.logbook import LOGBOOK_KINDS
from filmwright.record.objects import EVENT_KINDS
from filmwright.web import Settings, application
from filmwright.web.app import page_routes
from filmwright.web.pages import measurements
from filmwright.web.roles import needs_of

pytestmark = pytest.mark.property

BASE, WORDS, LOT = "https://bench.example", "tulip harbour seven crayon", "K7M-4H7"
MARK = "zqxj7"
RUDE = f"<script>{MARK}()</script>\"'><{MARK} onload={MARK}> &amp; =1+1 {{{{ {MARK} }}}} \u202e{MARK}\u2066"
TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Letters that make what follows run the other way, so that a line reads as something else than it says."""
NOON = "2026-01-05T12:00:00+01:00"
PHOTO = b"\xff\xd8\xff\xd9"
PLAN = f"""\
flow: {json.dumps(RUDE, ensure_ascii=False)}
invented: yes
wafer: {{body: silicon, diameter: 100 mm}}
steps:
  - clean: solvent clean
    because: {json.dumps(RUDE, ensure_ascii=False)}
  - deposit: titanium
    method: electron-beam evaporation
    thickness: 60 nm
    because: {json.dumps(RUDE, ensure_ascii=False)}
"""
NAMES = {"hold": "go", "place": "location", "cleave": "W1.a", "state": "limited", "bath": "fresh"}
BOOKS = {"account": "accounts", "access": "accounts", "setting": "site"}
APART = {"leave", "enter"}
"""Kinds that send a wafer away; what a wafer is called is checked by its form."""


class Acting(HTMLParser):
    """What of the rude words a browser would take for more than words."""

    def __init__(self, text):
        super().__init__()
        self.found, self.actions, self._script = [], set(), False
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self._script = tag == "script"
        for name, value in attributes:
            if (
                MARK in name
                or name.startswith("on")
                or (value or "").lower().lstrip().startswith("javascript:")
            ):
                self.found.append(f"{tag} {name}={value}")
        if MARK in tag:
            self.found.append(tag)

    def handle_data(self, data):
        if self._script and MARK in data:
            self.found.append(f"script {data}")
        self._script = False


def fill(bench, folder):
    """Every kind of entry, of line, of file and of person, with the same rude words wherever words are free."""
    store = bench.store
    store.start_lot(
        Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1", wafers=("W1", "W2"),
            started=NOON, invented=True, note=RUDE)
    )  # fmt: skip
    photo, flow = (
        store.keep_blob(PHOTO, "image/jpeg", RUDE),
        store.keep_blob(PLAN.encode(), "application/yaml", RUDE),
    )
    note = str(uuid.uuid4())
    for kind in sorted(set(EVENT_KINDS) - APART):
        value = 1e-9 if kind in {"set", "seen", "measured", "timer"} else None
        for step in ("1.1", "2.1", ""):
            store.append([
                Event(id=note if (kind, step) == ("note", "1.1") else str(uuid.uuid4()), lot=LOT, kind=kind, step=step, text=RUDE,
                      name=NAMES.get(kind, RUDE) + (step if kind == "cleave" else ""), value=value, unit="nm" if value else "",
                      wafer="W1" if kind == "cleave" else "", about=note if kind == "withdraw" else "", who=RUDE, happened=NOON,
                      written=NOON, sha256={"photo": photo, "flow": flow}.get(kind, ""), invented=True)
            ])  # fmt: skip
    books = [each for each in store.books() if each != "accounts"]
    store.enter(
        LogbookEntry(id=str(uuid.uuid4()), book=BOOKS.get(kind, book), kind=kind, name=NAMES.get(kind, RUDE), value=1e-9, unit="nm",
                     text=RUDE, who=RUDE, happened=NOON, written=NOON, invented=True)
        for kind in LOGBOOK_KINDS for book in books
    )  # fmt: skip
    store.keep_file(
        MeasurementFile(lot=LOT, name=RUDE.replace("/", "_"), sha256=digest(b"1,2"), kept=NOON, device=RUDE, wafer="W1", who=RUDE,
                        parameters=json.dumps({RUDE: RUDE})), b"1,2",
    )  # fmt: skip
    (folder / "rude.yaml").write_text(PLAN, "utf-8")


@pytest.fixture(scope="module")
def rude(story, tmp_path_factory):
    """The invented bench with all of it, an administrator's browser and a program before it."""
    impatient = pytest.MonkeyPatch()
    for what in ("MORE_PATIENCE", "SIZES_PATIENCE", "PATIENCE"):
        impatient.setattr(measurements, what, 0.01)
    folder = tmp_path_factory.mktemp("rude") / "bench"
    shutil.copytree(story.record.parent, folder)
    plans = folder / story.plans.relative_to(story.record.parent)
    with (
        Bench.open(folder / story.record.name, plans=plans) as bench,
        TestClient(application(bench, Settings(plans=plans, shared=True, names=())), base_url=BASE) as client,
    ):
        fill(bench, plans)
        people = People(bench.store)
        signs = SignIns(people)
        name = RUDE.replace("\u202e", "").replace("\u2066", "")[:60].strip()
        people.add(name, "administrator", by=RUDE, password=WORDS)
        signs.by_password(name, WORDS)
        people.set_role(name, "administrator", by=RUDE)
        begun = signs.by_password(name, WORDS)
        client.cookies.set("__Host-session", begun.token)
        client.cookies.set("__Host-tablet", signs.pair(begun.visitor, name))
        client.token = signs.make_token(Visitor(name=name, role="administrator"), name, ("read", "log"))
        for role in ROLES:
            people.add(role, role, by=RUDE, password=WORDS)
        client.signs = signs
        client.link = people.add(f"b {name}"[:60].strip(), "operator", by=RUDE).link
        client.bench, client.photo = bench, digest(PHOTO)
        yield client
    impatient.undo()


def lots(client):
    return [LOT, next(each for each in client.bench.heads() if each != LOT)]


def codes(client, lot):
    return [each.code for each in client.bench.flow(lot).steps][:3]


def tools(client):
    return sorted(
        {each.removeprefix("tool:") for each in client.bench.store.books() if each.startswith("tool:")}
    )


def tray(client):
    """A tray with a table whose name and words are rude."""
    page = f"/lot/{LOT}/measurements"
    token = re.search(r'data-token="([0-9a-f]{64})"', client.get(page).text)[1]
    table = (RUDE, f"VG [V],{MARK}{RUDE}\n0,1\n1,2\n".encode())
    answer = client.post(
        f"{page}/files", data={"token": token}, files={"files": table}, follow_redirects=False
    )
    return answer.headers["location"].rsplit("/", 1)[1]


def picture(client):
    """A picture that a page shows."""
    for path in (f"/lot/{lots(client)[1]}/wafer/W1", f"/lot/{LOT}/wafer/W1", "/parts"):
        found = re.search(r"/picture/([0-9a-f]{32})\.svg", client.get(path).text)
        if found:
            return found[1]
    from filmwright.web.pages.pictures import Pictures

    held: Pictures = client.app.state.pictures
    return held.keep("<svg/>")


def in_lots(tail, *also):
    return lambda client: [f"/lot/{lot}{tail}{each}" for lot in lots(client) for each in ("", *also)]


ADDRESSES = {
    "/": lambda _: ["/"], "/lots": lambda _: ["/lots"], "/lots/new": lambda _: ["/lots/new"], "/parts": lambda _: ["/parts"],
    "/changes": lambda _: ["/changes"],
    "/sign-in": lambda _: ["/sign-in", f"/sign-in?back=/{MARK}<{MARK}>"], "/switch": lambda _: ["/switch"], "/me": lambda _: ["/me"],
    "/people": lambda _: ["/people"], "/plans": lambda _: ["/plans"], "/tools": lambda _: ["/tools"], "/sw.js": lambda _: ["/sw.js"],
    "/offline": lambda _: ["/offline"], "/manifest.webmanifest": lambda _: ["/manifest.webmanifest"],
    "/first/{link}": lambda client: [f"/first/{client.link}"],
    "/photos/{sha256}": lambda client: [f"/photos/{client.photo}"],
    "/picture/{name}.svg": lambda client: [f"/picture/{picture(client)}.svg"],
    "/plan/{name:path}": lambda _: ["/plan/rude.yaml", "/plan/delay-line/plan.yaml"],
    "/lot/{lot}": in_lots("", "?open=all"), "/lot/{lot}/flow": in_lots("/flow"), "/lot/{lot}/measurements": in_lots("/measurements"),
    "/lot/{lot}/measurements/told": lambda client: [f"/lot/{lots(client)[1]}/measurements/told"], "/lot/{lot}/offline": in_lots("/offline"),
    "/lot/{lot}/paper": in_lots("/paper"), "/lot/{lot}/resume": in_lots("/resume"), "/lot/{lot}/timers": in_lots("/timers"),
    "/lot/{lot}/measurements/devices": in_lots("/measurements/devices", "?of=%3Cb%3E&device=W1+%3Cb%3E"),
    "/lot/{lot}/measurements/figures": in_lots("/measurements/figures"),
    "/lot/{lot}/measurements/file/{sha256}": lambda _: [f"/lot/{LOT}/measurements/file/{digest(b'1,2')}"],
    "/lot/{lot}/measurements/tray/{tray}": lambda client: [f"/lot/{LOT}/measurements/tray/{tray(client)}"],
    "/lot/{lot}/wafer/{wafer}": in_lots("/wafer/W1", "?at=3"), "/lot/{lot}/wafer/{wafer}/known": in_lots("/wafer/W1/known"),
    "/labels/{lot}": lambda client: [f"/labels/{lot}" for lot in lots(client)],
    "/labels/{lot}/labels.pdf": lambda client: [f"/labels/{LOT}/labels.pdf"],
    "/lot/{lot}/step/{code}": lambda client: [
        f"/lot/{lot}/step/{code}{wafer}" for lot in lots(client) for code in codes(client, lot) for wafer in ("", "?wafer=W1")
    ],
    "/lot/{lot}/step/{code}/mark": lambda client: [f"/lot/{lot}/step/{codes(client, lot)[0]}/mark" for lot in lots(client)],
    "/tool/{name:path}": lambda client: [f"/tool/{each}" for each in tools(client)],
    "/tool/{name:path}/chart/{kind}/{place:int}.svg": lambda client: [f"/tool/{each}/chart/check/0.svg" for each in tools(client)[:2]],
}  # fmt: skip
"""For each address of a page: such ones as show what was kept. A new page belongs here, or the test does not pass."""

PROGRAMS = {
    "/lots": lambda _: ["/lots"], "/tools": lambda _: ["/tools"],
    "/lots/{lot}": lambda client: [f"/lots/{lot}" for lot in lots(client)],
    "/lots/{lot}/progress": lambda client: [f"/lots/{lot}/progress" for lot in lots(client)],
    "/lots/{lot}/entries": lambda client: [f"/lots/{lot}/entries" for lot in lots(client)],
    "/lots/{lot}/wafers/{wafer}": lambda _: [f"/lots/{LOT}/wafers/W1"],
    "/lots/{lot}/steps/{code}": lambda client: [f"/lots/{LOT}/steps/{each}" for each in codes(client, LOT)],
    "/lots/{lot}/files": lambda _: [f"/lots/{LOT}/files"], "/lots/{lot}/measurements": lambda _: [f"/lots/{LOT}/measurements"],
    "/lots/{lot}/files/{sha256}": lambda _: [f"/lots/{LOT}/files/{digest(b'1,2')}"],
    "/tools/{name}": lambda client: [f"/tools/{each}" for each in tools(client)],
}  # fmt: skip


def api_routes(app):
    """All addresses for programs, whatever holds them."""
    api = next(each.app for each in app.routes if getattr(each, "path", "") == "/api")
    return {path: set(told) for path, told in api.openapi()["paths"].items()}


def test_no_page_is_left_out(rude):
    pages = {each.path for each in page_routes() if isinstance(each, Route) and "GET" in each.methods}
    assert pages == set(ADDRESSES), "say beside the others which addresses of a new page show what was kept"
    assert not any(isinstance(each, APIRoute) for each in page_routes())
    read = {path for path, methods in api_routes(rude.app).items() if "get" in methods}
    assert read == set(PROGRAMS)


@pytest.mark.parametrize("path", sorted(ADDRESSES))
def test_what_was_kept_never_acts_in_a_page(rude, path):
    for address in ADDRESSES[path](rude):
        answer = rude.get(address, follow_redirects=False)
        assert answer.status_code in {200, 202, 204, 303} or "/chart/" in address, (
            address,
            answer.text[-400:],
        )
        kind = answer.headers.get("content-type", "").partition(";")[0]
        assert "unsafe" not in answer.headers["content-security-policy"] or kind == "image/svg+xml"
        assert answer.headers["x-content-type-options"] == "nosniff"
        if kind in {"text/html", "image/svg+xml"}:
            assert Acting(answer.text).found == [], address
            assert kind == "image/svg+xml" or not TURNING.search(answer.text), address
        elif kind == "text/plain":
            assert answer.headers["content-disposition"].startswith("attachment"), address
        else:
            assert kind in {
                "",
                "application/json",
                "text/javascript",
                "application/manifest+json",
                "application/pdf",
                "image/jpeg",
            }


def needed(action):
    """What the form of an address needs."""
    scope = {
        "type": "http",
        "method": "POST",
        "path": action.partition("?")[0],
        "root_path": "",
        "headers": [],
    }
    return next(needs_of(each) for each in page_routes() if each.matches(scope)[0] is Match.FULL)


@pytest.mark.parametrize("role", [None, *ROLES])
def test_every_page_as_every_role_shows_no_form_that_would_be_refused(rude, role):
    """With all that is kept on it; who may not see a page gets words."""
    with TestClient(rude.app, base_url=BASE, follow_redirects=False) as client:
        client.bench, client.photo, client.link = rude.bench, rude.photo, rude.link
        if role is not None:
            client.cookies.set("__Host-session", rude.signs.by_password(role, WORDS).token)
        for path in sorted(
            set(ADDRESSES) - {"/lot/{lot}/measurements/tray/{tray}", "/labels/{lot}/labels.pdf"}
        ):
            for address in ADDRESSES[path](client):
                answer = client.get(address, headers={"accept": "text/html"})
                route = next(each for each in page_routes() if each.path == path and "GET" in each.methods)
                if not may(role, needs_of(route)):
                    assert answer.status_code in {303, 403}, (address, role)
                    continue
                assert answer.status_code < 500, (address, role)
                refused = {each for each in Acting(answer.text).actions if not may(role, needed(each))}
                assert not refused, (address, role, refused)


@pytest.mark.parametrize("path", sorted(PROGRAMS))
def test_what_was_kept_goes_to_programs_as_data(rude, path):
    head = {"authorization": f"Bearer {rude.token}"}
    for address in PROGRAMS[path](rude):
        answer = rude.get(f"/api{address}", headers=head)
        assert answer.status_code == 200, (address, answer.text[-400:])
        assert answer.headers["content-disposition"].startswith("attachment")
        if answer.headers["content-type"] == "application/json":
            answer.json()


def test_the_rude_words_were_there_to_be_shown(rude):
    """Pages that show free words show these, so that the search above can fail."""
    shown = {
        path for path in ADDRESSES for address in ADDRESSES[path](rude) if MARK in rude.get(address).text
    }
    assert {"/", "/lot/{lot}", "/lot/{lot}/step/{code}", "/lot/{lot}/wafer/{wafer}", "/lot/{lot}/resume", "/people", "/me", "/changes",
            "/plan/{name:path}", "/lot/{lot}/flow", "/tool/{name:path}", "/lot/{lot}/measurements", "/labels/{lot}"} <= shown  # fmt: skip
