"""Signing in, changing over, and what each role meets: asked as a browser asks, over https as behind a proxy."""

import re
from urllib.parse import unquote, urlsplit

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns, passwords
from filmwright.web import Settings, application
from filmwright.web.shares import count

pytestmark = pytest.mark.whole

WORDS = "tulip harbour seven crayon"
NEW_WORDS = "kettle orbit maple twelve"


@pytest.fixture(scope="module", autouse=True)
def cheap_hashes():
    """Hashes of little work: what they cost is tested elsewhere, here hundreds are made."""
    from argon2 import PasswordHasher

    passwords._hasher.cache_clear()
    passwords._of_nobody.cache_clear()
    real, cheap = passwords._hasher, PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    passwords._hasher = lambda: cheap
    yield
    passwords._hasher = real
    passwords._of_nobody.cache_clear()


@pytest.fixture
def lab(tmp_path):
    """A shared record with one account of each role."""
    with Bench.open(tmp_path / "record.sqlite", create=True) as bench:
        people = People(bench.store)
        for name, role in (
            ("ada", "administrator"),
            ("otto", "operator"),
            ("pia", "process owner"),
            ("rio", "reader"),
        ):
            people.add(name, role, by="the test", password=WORDS)
        yield bench


@pytest.fixture
def app(lab):
    return application(lab, Settings(shared=True, names=()))


@pytest.fixture
def visit(app):
    """Makes browsers; ``visit("ada")`` is signed in."""
    clients = []

    def make(name="", base="https://bench.example"):
        client = TestClient(app, base_url=base, follow_redirects=False, headers={"accept": "text/html"})
        clients.append(client)
        if name:
            assert sign_in(client, name).status_code == 303
        return client

    yield make
    for client in clients:
        client.close()


def token_of(client, path="/sign-in"):
    return re.search(r'data-token="([0-9a-f]{64})"', client.get(path).text).group(1)


def send(client, path, page="/me", **words):
    return client.post(path, data={"token": token_of(client, page), **words})


def sign_in(client, name, password=WORDS, back="/"):
    return send(client, "/sign-in", "/sign-in", name=name, password=password, back=back)


def test_without_a_sign_in_every_page_leads_to_the_door(visit):
    answer = visit().get("/?a=1")
    assert answer.status_code == 303
    assert unquote(answer.headers["location"]) == "/sign-in?back=/?a=1"


def test_the_cookie_is_bound_to_host_encryption_and_site_and_no_script_reads_it(visit):
    cookie = next(
        each for each in sign_in(visit(), "otto").headers.get_list("set-cookie") if "session" in each
    )
    name, _, rest = cookie.partition("=")
    assert name == "__Host-session"
    token, *flags = [each.strip().lower() for each in rest.split(";")]
    assert token.startswith("fws_")
    assert set(flags) == {"httponly", "path=/", "samesite=strict", "secure"}


def test_wrong_password_closed_account_and_unknown_name_get_the_same_answer(visit, lab):
    People(lab.store).set_active("rio", False, by="ada")
    answers = [
        sign_in(visit(), *each)
        for each in (("otto", "wrong"), ("rio", WORDS), ("nobody-there", WORDS), ("", ""))
    ]
    texts = {re.sub(r'data-token="\w+"|value="[0-9a-f-]{36,64}"', "", each.text) for each in answers}
    assert {each.status_code for each in answers} == {403}
    assert len(texts) == 1
    assert "not right" in texts.pop()


def test_a_password_is_never_sent_back_nor_written_down(visit, lab):
    secret = "my-secret-typed-in-the-wrong-field"
    answer = sign_in(visit(), secret, secret)
    assert secret not in answer.text
    assert all(secret not in str(each) for each in lab.store.logbook("accounts"))


def test_wrong_passwords_make_one_wait_whether_or_not_the_name_is_there(visit):
    for name in ("otto", "nobody-there"):
        client = visit()
        statuses = [sign_in(client, name, "wrong").status_code for _ in range(7)]
        assert statuses == [403] * 5 + [429] * 2
        assert "Try again in" in sign_in(client, name).text, "the right one has to wait too"


def test_many_names_from_one_address_make_it_wait(visit):
    client = visit()
    statuses = [sign_in(client, f"name{k}", "wrong").status_code for k in range(32)]
    assert statuses[:30] == [403] * 30
    assert statuses[-1] == 429


def test_the_token_of_a_sign_in_is_new_each_time_and_the_old_one_is_dead(visit, app):
    client = visit("otto")
    old = client.cookies["__Host-session"]
    sign_in(client, "otto")
    assert client.cookies["__Host-session"] != old
    thief = TestClient(
        app, base_url="https://bench.example", cookies={"__Host-session": old}, follow_redirects=False
    )
    assert thief.get("/", headers={"accept": "text/html"}).status_code == 303


def test_a_token_that_was_put_into_the_browser_beforehand_is_not_taken_over(visit, app):
    client = visit()
    client.cookies.set("__Host-session", "fws_chosen-by-somebody-else")
    sign_in(client, "otto")
    assert "chosen" not in client.cookies.get("__Host-session", domain="bench.example")


def test_signing_out_ends_it_on_the_server_too(visit, app):
    client = visit("otto")
    held = client.cookies["__Host-session"]
    assert send(client, "/sign-out").status_code == 303
    assert "__Host-session" not in client.cookies
    again = TestClient(
        app, base_url="https://bench.example", cookies={"__Host-session": held}, follow_redirects=False
    )
    assert again.get("/", headers={"accept": "text/html"}).status_code == 303


def test_a_form_made_for_one_sign_in_is_not_taken_in_another(visit):
    client = visit("otto")
    old = token_of(client, "/me")
    sign_in(client, "ada")
    assert (
        client.post("/people/add", data={"token": old, "name": "eve", "role": "administrator"}).status_code
        == 403
    )
    assert send(client, "/people/add", name="eve", role="operator").status_code == 200


def test_no_password_is_taken_without_encryption_except_on_this_machine(visit):
    far = visit(base="http://bench.example")
    assert sign_in(far, "otto").status_code == 403
    near = visit(base="http://127.0.0.1:8537")
    answer = sign_in(near, "otto")
    assert answer.status_code == 303
    cookie = next(each for each in answer.headers.get_list("set-cookie") if each.startswith("session="))
    assert "secure" not in cookie.lower()


def test_after_signing_in_one_goes_on_to_a_page_of_this_server_only(visit):
    assert sign_in(visit(), "otto", back="/me").headers["location"] == "/me"
    for foreign in (
        "//elsewhere.example",
        "https://elsewhere.example",
        "/\\elsewhere.example",
        "javascript:alert(1)",
    ):
        assert sign_in(visit(), "otto", back=foreign).headers["location"] == "/"


def test_a_new_account_sets_its_password_by_a_link_that_works_once(visit):
    page = send(visit("ada"), "/people/add", "/people", name="New.One", role="operator")
    link = urlsplit(re.search(r"https://bench\.example(/first/[\w%-]+)", page.text).group(0)).path
    client = visit()
    assert "New.One" in client.get(link).text
    short = send(client, link, link, password="short", again="short")
    assert short.status_code == 422
    other = send(client, link, link, password=NEW_WORDS, again=WORDS)
    assert other.status_code == 422
    assert send(client, link, link, password=NEW_WORDS, again=NEW_WORDS).status_code == 303
    assert client.get(link).status_code == 404
    assert sign_in(client, "new.one", NEW_WORDS).status_code == 303


def test_a_new_password_needs_the_old_one_and_signs_out_everywhere(visit):
    here, there = visit("otto"), visit("otto")
    wrong = send(here, "/me/password", old="wrong", password=NEW_WORDS, again=NEW_WORDS)
    assert wrong.status_code == 422
    assert send(here, "/me/password", old=WORDS, password=NEW_WORDS, again=NEW_WORDS).status_code == 303
    assert there.get("/").status_code == 303
    assert sign_in(visit(), "otto", WORDS).status_code == 403
    assert sign_in(visit(), "otto", NEW_WORDS).status_code == 303


def test_own_sign_ins_are_listed_and_can_be_ended(visit):
    here, there = visit("otto"), visit("otto")
    page = here.get("/me").text
    (other,) = re.findall(r'name="id" value="([0-9a-f]{64})"', page)
    assert send(here, "/me/sign-in/end", id=other, old="wrong").status_code == 422
    assert there.get("/").status_code == 200
    assert send(here, "/me/sign-in/end", id=other, old=WORDS).status_code == 303
    assert there.get("/").status_code == 303
    assert here.get("/").status_code == 200
    more = [visit("otto") for _ in range(2)]
    assert send(here, "/me/sign-in/end", id="others", old=WORDS).status_code == 303
    assert [each.get("/").status_code for each in more] == [303, 303]
    assert here.get("/").status_code == 200


def test_who_signs_in_is_told_what_changed_since_the_last_time(visit, lab):
    """By whom and when; on the page Me it stays to be read."""
    otto = visit("otto")
    assert "Nothing yet" in otto.get("/me").text
    ada = visit("ada")
    send(ada, "/people/change", "/people", name="otto", what="role", role="reader")
    send(ada, "/people/change", "/people", name="rio", what="role", role="operator")
    for _ in range(5):
        SignIns(People(lab.store)).by_password("otto", "wrong")
    answer = sign_in(otto, "otto", back="/tools")
    assert answer.headers["location"] == "/changes?back=/tools"
    told = otto.get("/changes?back=/tools").text
    assert "The role is now reader, by ada" in told
    assert "5 wrong passwords or PINs were tried" in told
    assert "operator" not in told, "what changed of others is theirs"
    assert 'href="/tools"' in told
    assert "The role is now reader, by ada" in otto.get("/me").text
    assert sign_in(otto, "otto").headers["location"] == "/", "it is told once"
    assert otto.get("/changes?back=//elsewhere.example").headers["location"] == "/"


def test_a_password_and_a_pin_that_were_changed_are_told_at_the_next_sign_in(visit):
    otto = visit("otto")
    with_pin(visit)
    sign_in(otto, "otto")
    assert "The PIN was set or taken away, by otto" in otto.get("/changes").text
    send(otto, "/me/password", old=WORDS, password=NEW_WORDS, again=NEW_WORDS)
    sign_in(otto, "otto", NEW_WORDS)
    assert "The password was changed, by otto" in otto.get("/changes").text
    send(visit("ada"), "/people/change", "/people", name="otto", what="link")
    sign_in(otto, "otto", NEW_WORDS)
    assert "A link was drawn that sets a new password, by ada" in otto.get("/changes").text


def test_how_good_a_new_password_is_is_told_while_it_is_typed(visit):
    """By the rules by which it is refused, and without being kept."""
    otto = visit("otto")

    def told(client, page, password, **more):
        head = {"x-form-token": token_of(client, page), "accept": "application/json"}
        return client.post("/password-words", json={"password": password, **more}, headers=head).json()

    assert told(otto, "/me", "short") == {"taken": False, "said": "5 of at least 12 characters"}
    assert told(otto, "/me", "otto otto otto 1")["taken"] is False
    assert told(otto, "/me", NEW_WORDS) == {"taken": True, "said": "Hard to guess"}
    page = send(visit("ada"), "/people/add", "/people", name="Quintessa", role="operator").text
    link = re.search(r"/first/([\w%-]+)", page).group(1)
    new = visit()
    assert told(new, f"/first/{link}", "quintessa2026!!", link=link)["taken"] is False
    assert f'data-judged="{link}"' in new.get(f"/first/{link}").text
    assert new.post("/password-words", json={"password": "x"}).status_code == 403, (
        "only from a page of this server"
    )


def test_nobody_ends_the_sign_ins_or_tokens_of_somebody_else(visit, lab):
    otto, rio = visit("otto"), visit("rio")
    signs = SignIns(People(lab.store))
    (sign_in_of_rio,) = lab.store.sign_ins("rio")
    send(otto, "/me/sign-in/end", id=sign_in_of_rio.token_hash, old=WORDS)
    assert rio.get("/").status_code == 200
    send(rio, "/me/token", name="reader", scope="read", days="1")
    (token,) = lab.store.api_tokens("rio")
    send(otto, "/me/token/end", id=token.token_hash)
    assert lab.store.api_tokens("rio") == (token,)
    assert signs.people.find("rio").active


def test_a_closed_account_and_a_lower_role_count_from_the_next_request(visit):
    ada, pia = visit("ada"), visit("pia")
    send(ada, "/people/change", "/people", name="pia", what="role", role="reader")
    assert "reader" in pia.get("/me").text
    send(ada, "/people/change", "/people", name="pia", what="close")
    assert pia.get("/").status_code == 303


def test_the_last_administrator_stays(visit):
    ada = visit("ada")
    for change in ({"what": "close"}, {"what": "role", "role": "reader"}):
        answer = send(ada, "/people/change", "/people", name="ada", **change)
        assert answer.status_code == 422
        assert "administrator" in answer.text


def pair(visit):
    tablet = visit("ada")
    assert send(tablet, "/people/tablet", "/people", name="wet bench").status_code == 303
    send(tablet, "/sign-out")
    return tablet


def with_pin(visit, name="otto", pin="481516"):
    assert send(visit(name), "/me/pin", old=WORDS, pin=pin).status_code == 303


def test_at_a_paired_tablet_a_pin_is_enough_and_does_not_administer(visit):
    with_pin(visit)
    with_pin(visit, "ada", "230948")
    tablet = pair(visit)
    assert tablet.get("/").headers["location"].startswith("/switch")
    assert "otto" in tablet.get("/switch").text
    assert send(tablet, "/switch", "/switch", name="otto", pin="481517").status_code == 403
    assert send(tablet, "/switch", "/switch", name="otto", pin="481516").status_code == 303
    assert tablet.get("/").status_code == 200
    assert tablet.get("/me").status_code == 403
    assert send(tablet, "/switch", "/switch", name="ada", pin="230948").status_code == 303
    assert tablet.get("/people").status_code == 403
    assert send(tablet, "/people/add", "/", name="eve", role="administrator").status_code == 403


def test_a_pin_is_worth_nothing_at_a_tablet_that_is_not_paired(visit):
    with_pin(visit)
    elsewhere = visit()
    assert "otto" not in elsewhere.get("/switch").text
    assert send(elsewhere, "/switch", "/switch", name="otto", pin="481516").status_code == 403
    elsewhere.cookies.set("__Host-tablet", "fwt_guessed")
    assert send(elsewhere, "/switch", "/switch", name="otto", pin="481516").status_code == 403


def test_ending_the_pairing_ends_the_sign_ins_by_pin_there(visit, lab):
    with_pin(visit)
    tablet = pair(visit)
    send(tablet, "/switch", "/switch", name="otto", pin="481516")
    ada = visit("ada")
    (paired,) = lab.store.tablets()
    assert send(ada, "/people/tablet/end", "/people", id=paired.token_hash).status_code == 303
    assert tablet.get("/").status_code == 303
    assert "otto" not in tablet.get("/switch").text


def test_wrong_pins_wait_and_then_the_pin_is_gone(visit, app, lab):
    with_pin(visit)
    tablet = pair(visit)
    statuses = [send(tablet, "/switch", "/switch", name="otto", pin="000000").status_code for _ in range(4)]
    assert statuses == [403, 403, 403, 429]
    clock = app.state.waits.pins
    for _ in range(7):
        clock._tried["otto"].until = 0.0
        last = send(tablet, "/switch", "/switch", name="otto", pin="000000")
    assert "set a new one" in last.text
    assert not lab.store.account("otto").pin_hash
    assert sign_in(visit(), "otto").status_code == 303, "the password still works"


def test_a_token_of_a_program_is_shown_once(visit, lab):
    otto = visit("otto")
    page = send(otto, "/me/token", name="furnace logger", scope="log", days="30")
    token = re.search(r"fwa_[\w-]{43}", page.text).group(0)
    assert token not in otto.get("/me").text
    kept = lab.store.api_tokens("otto")[0]
    assert token not in str(kept)
    assert kept.scopes == ("log",)
    for wrong in ({"days": "0"}, {"days": "9999"}, {"days": "x"}, {"scope": "administer"}, {"name": ""}):
        assert (
            send(otto, "/me/token", **{"name": "x", "scope": "read", "days": "3", **wrong}).status_code == 422
        )


def test_every_change_of_accounts_and_every_sign_in_is_in_the_log_without_any_secret(visit, lab):
    ada = visit("ada")
    with_pin(visit)
    sign_in(visit(), "otto", "wrong")
    send(ada, "/people/change", "/people", name="rio", what="role", role="operator")
    send(ada, "/people/change", "/people", name="rio", what="close")
    pair(visit)
    lines = lab.store.logbook("accounts")
    told = [(each.who, each.name, each.text) for each in lines]
    for wanted in (
        ("the test", "added", "otto as operator"), ("ada", "signed in", "ada"), ("otto", "changed", "otto: PIN"),
        ("otto", "refused", "wrong password, from testclient"), ("ada", "changed", "rio: role operator"),
        ("ada", "changed", "rio: put out of use"),
    ):  # fmt: skip
        assert wanted in told
    assert any(each.name.startswith("paired") or "tablet" in each.name for each in lines)
    text = str(lines)
    assert WORDS not in text
    assert "481516" not in text
    assert "argon2" not in text
    assert lab.store.verify_book("accounts").sound


def test_a_browser_that_asks_without_rest_has_to_wait_and_nobody_else(visit, app):
    """Signed in by the sign-in, else by the address; files of the package and the sign of life are not counted."""
    app.state.shares.pages._burst, app.state.shares.pages._rate = 5, 0.01
    otto, rio = visit("otto"), visit("rio")
    answers = [otto.get("/tools") for _ in range(7)]
    assert [each.status_code for each in answers] == [200] * 5 + [429] * 2
    assert 0 < int(answers[-1].headers["retry-after"]) <= 100
    assert "Too many requests" in answers[-1].text
    assert otto.get("/healthz").status_code == 200
    assert otto.post("/queue", json={}, headers={"accept": "application/json"}).json()["status"] == 429
    assert rio.get("/tools").status_code == 200
    app.state.shares.strangers._burst, app.state.shares.strangers._rate = 3, 0.01
    assert [visit().get("/sign-in").status_code for _ in range(5)][-1] == 429


def test_one_person_keeps_no_more_files_and_entries_than_a_share(visit, app, lab):
    photo = {"photo": ("p.jpg", b"\xff\xd8\xff\xd9")}
    shares = app.state.shares
    shares.files._burst, shares.entries._burst = 3, 5
    otto, ada = visit("otto"), visit("ada")

    def keep(client):
        return client.post("/photos", data={"token": token_of(client, "/me")}, files=photo).status_code

    assert [keep(otto) for _ in range(4)] == [200] * 3 + [429]
    assert keep(ada) == 200, "each has a share of one's own"
    taps = [
        {"id": f"00000000-0000-4000-8000-00000000000{k}", "lot": "none", "step": "", "entries": []}
        for k in range(4)
    ]
    head = {"x-form-token": token_of(otto, "/me"), "accept": "application/json"}
    assert [otto.post("/queue", json={"taps": taps}, headers=head).status_code for _ in range(2)] == [
        200,
        429,
    ]


def test_what_is_unusual_is_told_to_administrators(visit, app, lab, caplog):
    ada = visit("ada")
    assert "Unusual" not in ada.get("/people").text
    signs = SignIns(People(lab.store))
    for _ in range(10):
        signs.by_password("otto", "wrong", address="192.0.2.7")
    signs.people.set_role("rio", "administrator", by="ada")
    otto = visit("otto")
    with caplog.at_level("WARNING", "filmwright.web"):
        for _ in range(25):
            count(Asked(app), "otto", "too fast")
    for _ in range(21):
        assert send(otto, "/people/add", name="eve", role="operator").status_code == 403
    told = ada.get("/people").text
    for wanted in (
        "10 wrong passwords or PINs for otto", "10 wrong passwords or PINs from the address 192.0.2.7", "rio: role administrator, by ada",
        "otto asked too fast 25 times", "otto asked 21 times for what the role does not allow",
    ):  # fmt: skip
        assert wanted in told
    assert [each.getMessage() for each in caplog.records] == [
        "unusual: 'otto', too fast, more than 20 in a day"
    ]


class Asked:
    """A request, as far as counting needs one."""

    def __init__(self, app):
        self.app = app


def test_forms_of_another_kind_are_refused_as_such(visit):
    otto = visit("otto")
    head = {"x-form-token": token_of(otto, "/me"), "content-type": "text/plain"}
    assert otto.post("/me/name", content=b"name=x", headers=head).status_code == 415


def test_alone_nobody_signs_in_and_the_name_is_kept_in_a_cookie(lab):
    with TestClient(
        application(lab, Settings()), base_url="http://127.0.0.1:8537", follow_redirects=False
    ) as client:
        assert client.get("/").status_code == 200
        assert client.get("/sign-in").headers["location"] == "/"
        assert send(client, "/me/name", name="Mara").status_code == 303
        assert "Mara" in client.get("/").text
        assert client.get("/people").status_code == 200
