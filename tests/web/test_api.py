"""Programs: tokens and their scopes, reading, entries that are kept once, conflicts, and one shape of refusal."""

import json
import shutil
import uuid

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from filmwright import __version__
from filmwright.desk.bench import Bench, People, SignIns, Visitor
from filmwright.web import Settings, application
from filmwright.web.api.application import programs
from filmwright.web.api.guard import BURST, Needs

pytestmark = pytest.mark.whole

TROUBLE = {"status", "said", "problems", "number"}


@pytest.fixture
def lab(tmp_path, story):
    """A copy of the invented bench with a process owner whose programs hold tokens."""
    shutil.copytree(story.record.parent, tmp_path / "bench")
    with Bench.open(tmp_path / "bench" / story.record.name) as bench:
        People(bench.store).add("pia", "process owner", by="the test", password="tulip harbour seven crayon")
        yield bench


@pytest.fixture
def app(lab):
    return application(lab, Settings(shared=True, names=()))


@pytest.fixture
def program(app, lab):
    """Makes programs: ``program("read", "log")``."""
    owner = Visitor(name="pia", role="process owner")

    def make(*scopes, token=""):
        held = token or (SignIns(People(lab.store)).make_token(owner, "a logger", scopes) if scopes else "")
        headers = {"authorization": f"Bearer {held}"} if held else {}
        return TestClient(app, base_url="https://bench.example", headers=headers)

    return make


@pytest.fixture
def lot(lab):
    return next(iter(lab.heads()))


def tap(lab, lot, **more):
    """A finished next step of a lot."""
    step = lab.progress(lot).next
    return {
        "id": str(uuid.uuid4()), "step": step, "entries": [{"kind": "note", "text": "seen by a program"}], **more,
    }  # fmt: skip


def test_every_address_says_what_it_needs(lab):
    for route in programs(lab, Settings()).routes:
        if isinstance(route, APIRoute):
            needed = [each.call for each in route.dependant.dependencies if isinstance(each.call, Needs)]
            assert len(needed) == 1, route.path
            wanted = "read" if route.methods == {"GET"} else "log"
            assert needed[0].action == wanted, route.path


def test_without_a_token_that_works_nothing_is_told(program, lot):
    for client in (program(), program(token="fwa_guessed"), program(token="\x7f")):
        for path in ("/api/lots", f"/api/lots/{lot}", f"/api/lots/{lot}/entries"):
            answer = client.get(path)
            assert answer.status_code == 401
            assert answer.headers["www-authenticate"] == "Bearer"
            assert set(answer.json()) == TROUBLE
            assert lot not in answer.text


def test_a_sign_in_of_a_browser_is_no_token_and_a_token_no_sign_in(program, app, lab):
    begun = SignIns(People(lab.store)).by_password("pia", "tulip harbour seven crayon")
    assert program(token=begun.token).get("/api/lots").status_code == 401
    browser = TestClient(app, base_url="https://bench.example", cookies={"__Host-session": begun.token})
    assert browser.get("/api/lots").status_code == 401, "no cookie counts, so no other site can use one"
    held = program("read").headers["authorization"].removeprefix("Bearer ")
    other = TestClient(
        app, base_url="https://bench.example", cookies={"__Host-session": held}, follow_redirects=False
    )
    assert other.get("/", headers={"accept": "text/html"}).status_code == 303


def test_scopes_open_no_more_than_they_say(program, lab, lot):
    assert program("read").post(f"/api/lots/{lot}/entries", json=tap(lab, lot)).status_code == 403
    assert program("log").get("/api/lots").status_code == 403
    assert program("read", "log").get("/api/lots").status_code == 200


def test_a_token_ends_with_its_owner_his_role_its_date_and_by_hand(program, lab, lot):
    client = program("read", "log")
    people = People(lab.store)
    people.add("ada", "administrator", by="the test", password="tulip harbour seven crayon")
    people.set_role("pia", "reader", by="ada")
    assert client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot)).status_code == 403
    assert client.get("/api/lots").status_code == 200
    people.set_active("pia", False, by="ada")
    assert client.get("/api/lots").status_code == 401
    people.set_active("pia", True, by="ada")
    assert client.get("/api/lots").status_code == 401, "a token that ended does not come back"


def test_lots_steps_entries_and_files_are_read_with_units(program, lab, lot):
    client = program("read")
    names = [each["name"] for each in client.get("/api/lots").json()]
    assert names == list(lab.heads())
    one = client.get(f"/api/lots/{lot}").json()
    assert one["entries"] == lab.head(lot)
    progress = client.get(f"/api/lots/{lot}/progress").json()
    assert {each["wafer"] for each in progress["cells"]} == {each["name"] for each in progress["wafers"]}
    assert len(progress["cells"]) == len(progress["wafers"]) * len(progress["steps"])
    entries = client.get(f"/api/lots/{lot}/entries", params={"after": 2, "most": 3}).json()
    assert [each["position"] for each in entries] == [3, 4, 5]
    valued = [each for each in client.get(f"/api/lots/{lot}/entries").json() if each["value"] is not None]
    assert valued
    assert all(each["unit"] for each in valued)
    wafer = progress["wafers"][0]["name"]
    assert client.get(f"/api/lots/{lot}/wafers/{wafer}").json()
    card = client.get(f"/api/lots/{lot}/steps/{progress['steps'][0]['code']}").json()
    assert card
    files = client.get(f"/api/lots/{lot}/files").json()
    for each in files[:1]:
        raw = client.get(f"/api/lots/{lot}/files/{each['sha256']}")
        assert raw.headers["content-disposition"].startswith("attachment")
        assert raw.headers["x-content-type-options"] == "nosniff"
    assert client.get(f"/api/lots/{lot}/measurements").status_code == 200


def test_tools_are_read_with_their_state(program):
    client = program("read")
    told = client.get("/api/tools").json()["tools"]
    for each in told[:2]:
        assert client.get(f"/api/tools/{each['name']}").json()["state"] in {"up", "limited", "down"}
    assert client.get("/api/tools/no such tool").status_code == 404


def test_an_entry_is_kept_once_however_often_it_is_sent_and_is_its_owners(program, lab, lot):
    client, sent = program("log"), tap(lab, lot, who="somebody else")
    before = lab.head(lot)
    first, second = (client.post(f"/api/lots/{lot}/entries", json=sent) for _ in range(2))
    assert (first.status_code, first.json()["state"]) == (201, "kept")
    assert (second.status_code, second.json()["state"]) == (200, "already there")
    assert lab.head(lot) == before + 1
    assert lab.written(lot)[-1].who == "pia"


def test_what_somebody_else_wrote_since_is_a_conflict_and_nothing_is_kept(program, lab, lot):
    client = program("log")
    step = lab.progress(lot).next
    seen = lab.seen(lot, step)
    entry = [{"kind": "finish"}]
    first = client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot, step=step, seen=seen, entries=entry))
    assert first.status_code == 201
    late = client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot, step=step, seen=seen, entries=entry))
    assert late.status_code == 409
    told = late.json()
    assert told["state"] == "conflict"
    assert told["newer"][0]["who"] == "pia"
    assert lab.head(lot) == first.json()["position"]


def test_decisions_of_people_are_not_taken_from_programs(program, lab, lot):
    for kind in ("hold", "acknowledge", "flow", "withdraw", "exclude"):
        sent = tap(lab, lot, entries=[{"kind": kind, "name": "go", "text": "x"}])
        assert program("log").post(f"/api/lots/{lot}/entries", json=sent).status_code == 422


BYTES = {"content-type": "application/octet-stream"}


def test_a_program_keeps_a_table_once_with_the_lot(program, lab, lot):
    raw = b"VG [V],ID [A]\n0,1e-12\n1,2e-9\n"
    address = f"/api/lots/{lot}/files"
    assert program("read").post(f"{address}?name=a.csv", content=raw, headers=BYTES).status_code == 403
    client = program("read", "log")
    answers = [
        client.post(f"{address}?name=../a%20b.csv&wafer=W1", content=raw, headers=BYTES) for _ in range(2)
    ]
    assert [each.status_code for each in answers] == [201, 200]
    told = answers[0].json()
    assert (told["name"], told["wafer"], told["who"]) == ("a b.csv", "W1", "pia")
    assert told == answers[1].json()
    assert client.get(f"{address}/{told['sha256']}").content == raw
    assert [each.sha256 for each in lab.store.files(lot)].count(told["sha256"]) == 1
    for wrong, status in (
        ({"content": b"<html>"}, 422), ({"content": b""}, 422), ({"content": raw, "headers": {"content-type": "text/csv"}}, 415),
        ({"content": raw, "params": {"name": "a.csv", "wafer": "W99"}}, 422), ({"content": raw, "params": {}}, 422),
        ({"content": b"x" * (33 * 1024 * 1024)}, 413),
    ):  # fmt: skip
        answer = client.post(address, **{"params": {"name": "a.csv"}, "headers": BYTES, **wrong})
        assert answer.status_code == status, wrong.get("params")
        assert set(answer.json()) == TROUBLE
    none = client.post("/api/lots/NONE-1/files?name=a.csv", content=raw, headers=BYTES)
    assert none.status_code == 404


def test_a_program_keeps_a_photo_and_an_entry_that_shows_it(program, lab, lot):
    client = program("read", "log")
    kept = client.post("/api/photos?name=p.jpg", content=b"\xff\xd8\xff\xd9", headers=BYTES)
    assert kept.status_code == 201
    entry = {"kind": "photo", "name": "photo", "text": "rim of the film", "sha256": kept.json()["sha256"]}
    assert client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot, entries=[entry])).status_code == 201
    assert lab.written(lot)[-1].sha256 == kept.json()["sha256"]
    unknown = {**entry, "sha256": "0" * 64}
    assert client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot, entries=[unknown])).status_code == 422
    assert client.post("/api/photos?name=p.jpg", content=b"no photo", headers=BYTES).status_code == 422


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "text/json", ""])
def test_content_of_another_kind_is_refused_as_such(program, lab, lot, kind):
    client = program("read", "log")
    head = {"content-type": kind} if kind else {}
    answer = client.post(f"/api/lots/{lot}/entries", content=json.dumps(tap(lab, lot)), headers=head)
    assert answer.status_code == 415
    assert set(answer.json()) == TROUBLE
    assert "application/json" in answer.json()["said"]


def test_the_description_tells_its_own_form_and_not_the_version_of_the_server(program):
    told = program("read").get("/api/openapi.json")
    assert told.json()["info"]["version"] == "1"
    assert __version__ not in told.text
    assert "server" not in told.headers


def test_every_refusal_has_one_shape(program, lab, lot):
    client = program("read", "log")
    answers = [
        client.get("/api/lots/NONE-1"),
        client.get("/api/nowhere"),
        client.get(f"/api/lots/{lot}/entries?after=-1"),
        client.get(f"/api/lots/{lot}/wafers/W99"),
        client.get(f"/api/lots/{lot}/steps/99.9"),
        client.get(f"/api/lots/{lot}/files/{'0' * 64}"),
        client.delete(f"/api/lots/{lot}"),
        client.post("/api/lots/NONE-1/entries", json=tap(lab, lot)),
        client.post(f"/api/lots/{lot}/entries", content=b"{", headers={"content-type": "application/json"}),
        client.post(f"/api/lots/{lot}/entries", json={**tap(lab, lot), "more": 1}),
        client.post(f"/api/lots/{lot}/entries", json=tap(lab, lot, step="99.9")),
    ]
    assert [each.status_code for each in answers] == [404, 404, 422, 404, 404, 404, 405, 404, 422, 422, 422]
    assert all(set(each.json()) == TROUBLE for each in answers)


def test_answers_are_saved_by_browsers_not_shown(program, lot):
    for path in ("/api/lots", "/api/lots/NONE-1", "/api/openapi.json"):
        answer = program("read").get(path)
        assert answer.headers["content-disposition"] == 'attachment; filename="api.json"'
        assert answer.headers["content-type"] == "application/json"
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_too_much_at_once_is_refused(program, lab, lot):
    client = program("log")
    raw = b'{"id": "' + b"x" * (1024 * 1024) + b'"}'
    assert client.post(f"/api/lots/{lot}/entries", content=raw).status_code == 413
    pieces = (b"x" * 65536 for _ in range(40))
    head = {"content-type": "application/json"}
    assert client.post(f"/api/lots/{lot}/entries", content=pieces, headers=head).status_code == 413


def test_a_program_without_rest_has_to_wait(program):
    client = program("read")
    statuses = [client.get("/api/lots/NONE-1").status_code for _ in range(BURST + 40)]
    assert 429 in statuses
    assert statuses[:BURST] == [404] * BURST


def test_alone_no_token_is_asked_but_no_other_site_may_write(lab, lot):
    app = application(lab, Settings())
    client = TestClient(app, base_url="http://127.0.0.1:8537")
    assert client.get("/api/lots").status_code == 200
    assert client.get("/api/lots", headers={"host": "elsewhere.example"}).status_code == 421
    sent = tap(lab, lot, who="Mara")
    foreign = client.post(
        f"/api/lots/{lot}/entries", json=sent, headers={"origin": "http://elsewhere.example"}
    )
    assert foreign.status_code == 403
    assert client.post(f"/api/lots/{lot}/entries", json=sent).status_code == 201
    assert lab.written(lot)[-1].who == "Mara"


def test_the_description_is_openapi_3_1_and_names_every_refusal(lab):
    described = (
        TestClient(application(lab, Settings()), base_url="http://127.0.0.1:8537")
        .get("/api/openapi.json")
        .json()
    )
    assert described["openapi"].startswith("3.1")
    for path, operations in described["paths"].items():
        for method, operation in operations.items():
            assert operation["security"] == [{"HTTPBearer": []}], (path, method)
            assert {"401", "403", "404", "422", "429"} <= set(operation["responses"]), (path, method)
            assert operation["description"]
