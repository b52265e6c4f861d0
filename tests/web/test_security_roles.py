"""Every page as every role: who is let through is what the table says, for each address and each way of coming in."""

import re

import pytest
from starlette.responses import Response
from starlette.routing import Route
from starlette.testclient import TestClient

from filmwright.desk.bench import ACTIONS, ROLES, Bench, People, SignIns, Visitor
from filmwright.desk.bench.permissions import may
from filmwright.web import Settings, application
from filmwright.web.app import page_routes
from filmwright.web.roles import Needing, guarded, needs_of

pytestmark = pytest.mark.property

PUBLIC = {
    ("GET", "/sign-in"), ("POST", "/sign-in"), ("POST", "/sign-out"), ("GET", "/switch"), ("POST", "/switch"),
    ("GET", "/first/{link}"), ("POST", "/first/{link}"), ("POST", "/theme"), ("GET", "/sw.js"),
    ("GET", "/manifest.webmanifest"), ("GET", "/offline"), ("POST", "/password-words"),
}  # fmt: skip
"""What is open to everybody, by hand: none of it tells anything of the record."""

WAYS = [(None, "password"), *((role, way) for role in ROLES for way in ("password", "pin"))]


def addresses():
    return [(min(each.methods - {"HEAD"}), each.path, each) for each in page_routes()]


def test_every_address_says_what_it_needs():
    for method, path, route in addresses():
        assert needs_of(route) in ACTIONS, (method, path)


def test_only_the_doors_are_open_to_everybody():
    assert {(method, path) for method, path, route in addresses() if needs_of(route) == "anyone"} == PUBLIC


def test_an_address_that_does_not_say_it_stops_the_server():
    def handler(request):
        return Response()

    with pytest.raises(TypeError, match="does not say"):
        guarded([Route("/x", handler, methods=["POST"])])


def test_what_only_reads_asks_for_no_more_and_what_writes_asks_for_more():
    for method, path, route in addresses():
        needs = needs_of(route)
        if (method == "POST" and path.startswith("/people")) or (
            method == "GET" and path.startswith("/people")
        ):
            assert needs == "administer", path
        elif path.startswith("/me"):
            assert needs == "own things", path


@pytest.fixture(scope="module")
def seats(tmp_path_factory):
    """Cookies of everybody, over pages that answer 204 once one is let through."""
    with Bench.open(tmp_path_factory.mktemp("roles") / "record.sqlite", create=True) as bench:
        people = People(bench.store)
        signs = SignIns(people)
        tablet = signs.pair(Visitor(name="x", role="administrator"), "bench")
        held = {(None, "password"): ""}
        for role in ROLES:
            people.add(role, role, by="the test", password="tulip harbour seven crayon")
            visitor = signs.by_password(role, "tulip harbour seven crayon").visitor
            signs.set_pin(visitor, "tulip harbour seven crayon", "481516")
            held[role, "pin"] = signs.by_pin(tablet, role, "481516").token
            held[role, "password"] = signs.by_password(role, "tulip harbour seven crayon").token
        app = application(bench, Settings(shared=True, names=()))

        async def through(scope, receive, send):
            await Response(status_code=204)(scope, receive, send)

        real = {
            id(each): each.app.app for each in app.routes if isinstance(getattr(each, "app", None), Needing)
        }
        for each in app.routes:
            if id(each) in real:
                each.app.app = through
        with TestClient(app, base_url="https://bench.example", follow_redirects=False) as client:
            yield client, held
        for each in app.routes:
            if id(each) in real:
                each.app.app = real[id(each)]


@pytest.mark.parametrize(("role", "way"), WAYS)
def test_each_role_is_let_through_where_the_table_says_so_and_nowhere_else(seats, role, way):
    client, held = seats
    for method, path, route in addresses():
        client.cookies.clear()
        if held[role, way]:
            client.cookies.set("__Host-session", held[role, way])
        answer = client.request(method, re.sub(r"\{[^}]*\}", "x1", path), headers={"accept": "text/html"})
        expected = may(role, needs_of(route), way)
        assert (answer.status_code == 204) == expected, (method, path, role, way, answer.status_code)
        if not expected:
            assert answer.status_code in {303, 401, 403}, (method, path)
            if answer.status_code == 303:
                assert answer.headers["location"].startswith("/sign-in?back=")


def test_programs_without_a_sign_in_get_a_refusal_not_a_page(seats):
    client, _ = seats
    client.cookies.clear()
    answer = client.get("/", headers={"accept": "application/json"})
    assert answer.status_code == 401
    assert set(answer.json()) == {"status", "said", "problems", "number"}
