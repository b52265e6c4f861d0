"""Accounts change, but never without a line of their logbook, and never so that nobody could get in."""

from dataclasses import replace

import pytest

from filmwright.errors import BadInput
from filmwright.record import Account, AccountChange, ApiToken, SignIn, Tablet, digest

NOON = "2031-05-04T12:00:00+02:00"
LATER = "2031-05-04T20:00:00+02:00"
HASH = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aGFzaGhhc2hoYXNo"
OTHER = HASH.replace("hash", "hush")[:-2] + "Zz"


@pytest.fixture
def chief(store):
    account = Account(name="M. Sample", role="administrator", created=NOON, password_hash=HASH)
    store.add_account(account, by="M. Sample")
    return account


@pytest.fixture
def operator(store, chief):
    account = Account(name="N. Pattern", role="operator", created=NOON, password_hash=HASH, pin_hash=OTHER)
    store.add_account(account, by="M. Sample")
    return account


def _sign_in(word, account="N. Pattern", **more):
    return SignIn(token_hash=digest(word), account=account, created=NOON, expires=LATER, **more)


@pytest.mark.analytic
def test_accounts_come_back_the_same_and_are_known_whatever_the_capitals(store, chief, operator):
    assert store.accounts() == (chief, operator)
    assert store.account("n. pattern") == operator
    with pytest.raises(BadInput, match="not taken"):
        store.add_account(replace(operator, name="N. PATTERN"), by="M. Sample")
    with pytest.raises(BadInput, match=r"N\. Pattern"):
        store.account("N. Patern")


@pytest.mark.analytic
def test_every_change_is_a_line_and_no_line_tells_a_secret(store, operator):
    store.change_account("N. Pattern", AccountChange(role="process owner"), by="M. Sample", when=LATER)
    store.change_account("N. Pattern", AccountChange(password_hash=OTHER), by="N. Pattern", when=LATER)
    store.add_sign_in(_sign_in("a"))
    store.end_sign_in(digest("a"), by="N. Pattern", when=LATER)
    store.end_sign_in(digest("a"), by="N. Pattern", when=LATER)
    lines = store.logbook("accounts")
    assert [(each.kind, each.name, each.text, each.who) for each in lines] == [
        ("account", "added", "M. Sample as administrator", "M. Sample"),
        ("account", "added", "N. Pattern as operator", "M. Sample"),
        ("account", "changed", "N. Pattern: role process owner", "M. Sample"),
        ("account", "changed", "N. Pattern: password", "N. Pattern"),
        ("access", "signed in", "N. Pattern", "N. Pattern"),
        ("access", "signed out", "N. Pattern", "N. Pattern"),
    ]
    assert not any("$" in each.text for each in lines)
    assert store.verify_book("accounts").sound
    assert store.account("N. Pattern").password_hash == OTHER


@pytest.mark.analytic
def test_a_refused_change_leaves_no_line(store, chief):
    for change in (AccountChange(active=False), AccountChange(role="reader")):
        with pytest.raises(BadInput, match="another administrator first"):
            store.change_account("M. Sample", change, by="M. Sample", when=LATER)
    with pytest.raises(BadInput, match="one that there is"):
        store.change_account("nobody", AccountChange(active=False), by="M. Sample", when=LATER)
    assert len(store.logbook("accounts")) == 1
    assert store.accounts() == (chief,)


@pytest.mark.analytic
def test_a_new_password_ends_sign_ins_but_the_one_that_changed_it(store, operator):
    for word in "abc":
        store.add_sign_in(_sign_in(word))
    store.add_sign_in(_sign_in("d", "M. Sample"))
    store.change_account("N. Pattern", AccountChange(password_hash=OTHER), by="N. Pattern", when=LATER,
                         keep=digest("b"))  # fmt: skip
    assert [each.token_hash for each in store.sign_ins("N. Pattern")] == [digest("b")]
    assert store.sign_in(digest("a")).ended == LATER
    assert len(store.sign_ins()) == 2
    assert store.end_sign_ins("N. Pattern", by="M. Sample", when=LATER) == 1
    assert store.end_sign_ins("N. Pattern", by="M. Sample", when=LATER) == 0
    assert store.sign_in(digest("nobody")) is None


@pytest.mark.analytic
def test_an_account_out_of_use_lets_nobody_in(store, operator):
    store.add_sign_in(_sign_in("a"))
    token = ApiToken(token_hash=digest("t"), name="furnace log", account="N. Pattern", scopes=("read", "log"),
                     created=NOON, expires=LATER)  # fmt: skip
    store.add_api_token(token, by="M. Sample")
    assert store.api_tokens() == (token,)
    assert store.api_token(digest("t")) == token
    store.change_account("N. Pattern", AccountChange(active=False), by="M. Sample", when=LATER)
    assert (store.sign_ins(), store.api_tokens()) == ((), ())
    assert store.api_token(digest("t")).ended == LATER
    for late in (lambda: store.add_sign_in(_sign_in("b")),
                 lambda: store.add_api_token(replace(token, token_hash=digest("u")), by="M. Sample")):  # fmt: skip
        with pytest.raises(BadInput, match="put out of use"):
            late()
    store.change_account("N. Pattern", AccountChange(active=True), by="M. Sample", when=LATER)
    store.add_sign_in(_sign_in("b"))


@pytest.mark.analytic
def test_a_parted_tablet_ends_what_was_open_on_it(store, operator):
    tablet = Tablet(token_hash=digest("tablet"), name="wet bench", paired_by="M. Sample", paired=NOON)
    store.pair_tablet(tablet, by="M. Sample")
    store.add_sign_in(_sign_in("a", tablet=tablet.token_hash))
    store.add_sign_in(_sign_in("b"))
    store.extend_sign_in(digest("b"), expires="2031-05-04T22:00:00+02:00")
    assert store.tablets() == (tablet,)
    store.end_tablet(tablet.token_hash, by="M. Sample", when=LATER)
    store.end_tablet(tablet.token_hash, by="M. Sample", when=LATER)
    assert store.tablets() == ()
    assert store.tablet(tablet.token_hash).ended == LATER
    assert [(each.token_hash, each.expires[11:16]) for each in store.sign_ins()] == [(digest("b"), "22:00")]
    store.add_api_token(ApiToken(token_hash=digest("t"), name="log", account="M. Sample", scopes=("log",),
                                 created=NOON, expires=LATER), by="M. Sample")  # fmt: skip
    store.end_api_token(digest("t"), by="M. Sample", when=LATER)
    store.end_api_token(digest("t"), by="M. Sample", when=LATER)
    assert store.api_tokens("M. Sample") == ()
    assert [each.name for each in store.logbook("accounts", after=2)] == [
        "tablet paired", "signed in", "signed in", "tablet parted", "token made", "token ended",
    ]  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Account(name="", role="reader", created=NOON), "the name of an account"),
        (lambda: Account(name="a\u200bb", role="reader", created=NOON), "look alike"),
        (lambda: Account(name="A", role="king", created=NOON), "the role of A"),
        (lambda: Account(name="A", role="reader", created="now"), "ISO time"),
        (lambda: Account(name="A", role="reader", created=NOON, password_hash="secret"), "digest it first"),
        (lambda: AccountChange(pin_hash="1234"), "digest it first"),
        (lambda: AccountChange(role="king"), "the role"),
        (lambda: SignIn(token_hash="a", account="A", created=NOON, expires=LATER), "digest of a sign-in"),
        (lambda: SignIn(token_hash=digest("a"), account="A", created=NOON, expires=LATER, tablet="x"), "the tablet"),
        (lambda: Tablet(token_hash=digest("a"), name="wet\nbench", paired_by="A", paired=NOON), "name of a tablet"),
        (lambda: ApiToken(token_hash=digest("a"), name="x", account="A", scopes=("All!",), created=NOON,
                          expires=LATER), "may do"),
    ],
)  # fmt: skip
def test_what_cannot_be_an_account_is_refused(make, told):
    with pytest.raises(BadInput, match=told):
        make()
