"""What stands around the pages: encryption, the proxy before us, and who may say where a caller comes from."""

import socket

import pytest
from starlette.testclient import TestClient
from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

from filmwright.desk.bench import Bench
from filmwright.web import Settings, application
from filmwright.web.guard import HEADERS
from filmwright.web.serving import _listening, check_host, server
from filmwright.web.sessions import address_of

pytestmark = pytest.mark.whole


@pytest.fixture
def bench(tmp_path):
    with Bench.open(tmp_path / "record.sqlite", create=True) as opened:
        yield opened


def seen_of(app, peer):
    """Address and scheme that the pages see of a caller who claims others."""
    seen = {}

    async def pages(scope, receive, send):
        from starlette.requests import Request
        from starlette.responses import Response

        request = Request(scope)
        seen.update(address=address_of(request), scheme=request.url.scheme)
        await Response()(scope, receive, send)

    claims = {"x-forwarded-for": "203.0.113.9", "x-forwarded-proto": "https"}
    TestClient(app(pages), base_url="http://bench.example", client=(peer, 1)).get("/", headers=claims)
    return seen


def test_nobody_is_believed_who_was_not_named_as_the_proxy(bench):
    config = server(bench, Settings(shared=True, names=())).config
    assert config.proxy_headers is False
    assert seen_of(lambda pages: pages, "198.51.100.7") == {"address": "198.51.100.7", "scheme": "http"}


def test_the_proxy_that_was_named_is_believed_and_nobody_else(bench):
    config = server(bench, Settings(shared=True, names=(), behind=("192.0.2.1",))).config
    assert config.proxy_headers is True

    def around(pages):
        return ProxyHeadersMiddleware(pages, trusted_hosts=config.forwarded_allow_ips)

    assert seen_of(around, "192.0.2.1") == {"address": "203.0.113.9", "scheme": "https"}
    assert seen_of(around, "198.51.100.7") == {"address": "198.51.100.7", "scheme": "http"}


def test_an_encrypted_answer_asks_for_encryption_from_then_on(bench):
    client = TestClient(application(bench, Settings(shared=True, names=())), base_url="https://bench.example")
    assert client.get("/sign-in").headers["strict-transport-security"] == "max-age=31536000"
    plain = TestClient(application(bench, Settings()), base_url="http://127.0.0.1:8537")
    assert "strict-transport-security" not in plain.get("/").headers


def test_scripts_and_styles_come_from_this_server_only():
    policy = dict(each.strip().partition(" ")[::2] for each in HEADERS["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert (
        policy["script-src"]
        == policy["style-src"]
        == policy["form-action"]
        == policy["connect-src"]
        == "'self'"
    )
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in HEADERS["content-security-policy"]


def test_without_accounts_nobody_else_is_let_in():
    from filmwright.errors import BadInput

    with pytest.raises(BadInput, match="--shared"):
        check_host("0.0.0.0", shared=False)
    check_host("0.0.0.0", shared=True)


def test_what_must_not_be_kept_by_browsers_is_not(bench):
    client = TestClient(application(bench, Settings(shared=True, names=())), base_url="https://bench.example")
    assert client.get("/sign-in").headers["cache-control"] == "no-store"


def test_what_was_refused_is_logged_on_one_line(bench, caplog):
    caplog.set_level("INFO", "filmwright.web")
    client = TestClient(application(bench, Settings(shared=True, names=())), base_url="https://bench.example")
    assert client.get("/lot/x%0d%0aforged", headers={"accept": "application/json"}).status_code == 401
    (line,) = [each.getMessage() for each in caplog.records if each.name == "filmwright.web"]
    assert line.startswith("refused 401 GET")
    assert "\n" not in line


def test_no_method_but_those_of_a_page_is_answered(bench):
    client = TestClient(application(bench, Settings(shared=True, names=())), base_url="https://bench.example")
    for method in ("PUT", "DELETE", "PATCH", "TRACE", "OPTIONS"):
        assert client.request(method, "/sign-in").status_code == 405


def test_an_answer_in_two_packets_does_not_wait_for_word_of_the_first():
    with _listening("127.0.0.1", 0) as door, socket.create_connection(door.getsockname()):
        line, _ = door.accept()
        with line:
            assert line.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
