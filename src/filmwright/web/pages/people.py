"""Signing in and out, changing over at a shared tablet, the own things of a person, and the people of the lab."""

from __future__ import annotations

import math
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from filmwright.desk.bench import LEAST, ROLES, WORDS
from filmwright.desk.bench.account_news import changes_of, news_of
from filmwright.desk.bench.unusual import unusual
from filmwright.web.context import settings_of
from filmwright.web.forms import Form, posted, to
from filmwright.web.guard import WHO, Refused, keep_cookie
from filmwright.web.limits import Waits
from filmwright.web.render import page
from filmwright.web.roles import shown
from filmwright.web.sessions import (
    SESSION,
    TABLET,
    YEAR,
    address_of,
    cookie_name,
    drop_secret,
    encrypted,
    keep_secret,
    local,
    sign_ins_of,
    visitor_of,
)
from filmwright.web.shares import counts_of

PINS_LEFT = 10
"""Wrong PINs of one account in a row, on all tablets together, after which the PIN is taken away."""


def waits_of(request: Request) -> Waits:
    """The tries that this server remembers."""
    found: Waits = request.app.state.waits
    return found


@shown("anyone")
def sign_in_page(request: Request) -> Response:
    """Name and password."""
    if not settings_of(request).shared:
        return to("/")
    return _sign_in(request, back=request.query_params.get("back", "/"))


def _sign_in(request: Request, *, back: str, said: str = "", status: int = 200) -> Response:
    paired = bool(request.cookies.get(cookie_name(request, TABLET)))
    return page(
        request, "sign-in.html", title="Sign in", back=to(back).headers["location"], said=said, status=status,
        paired=paired, first=sign_ins_of(request).people.lacks_administrator(),
    )  # fmt: skip


def sign_in(request: Request, form: Form) -> Response:
    """Take name and password; the answer to a wrong one never says which of the two it was."""
    _only_encrypted(request)
    name, back = form.text("name", limit=200), form.text("back", "/")
    key = " ".join(name.split()).casefold()[:60]
    address, waits = address_of(request), waits_of(request)
    wait = waits.addresses.begin(address) or waits.names.begin(key)
    if wait:
        return _sign_in(request, back=back, said=_wait_words(wait), status=429)
    begun = sign_ins_of(request).by_password(name, _secret(form, "password"), address=address)
    if begun is None:
        return _sign_in(request, back=back, said="Name or password is not right.", status=403)
    waits.names.forgive(key)
    waits.addresses.give_back(address)
    return _begin(request, begun, back)


def sign_out(request: Request, _form: Form) -> Response:
    """End the sign-in of this browser."""
    _end_held(request)
    response = to("/switch" if request.cookies.get(cookie_name(request, TABLET)) else "/sign-in")
    drop_secret(request, response, SESSION)
    return response


@shown("anyone")
def switch_page(request: Request) -> Response:
    """Who goes on at this tablet: a name to tap, then the PIN."""
    return _switch(request, request.query_params.get("name", ""))


def _switch(request: Request, name: str, said: str = "", status: int = 200) -> Response:
    names = sign_ins_of(request).at_tablet(request.cookies.get(cookie_name(request, TABLET), ""))
    return page(
        request, "switch.html", title="Who goes on?", names=names, chosen=name if name in names else "", said=said,
        status=status, back=to(request.query_params.get("back", "/")).headers["location"],
    )  # fmt: skip


def switch(request: Request, form: Form) -> Response:
    """Take a PIN at a paired tablet."""
    _only_encrypted(request)
    name, waits = form.text("name", limit=200), waits_of(request)
    tablet = request.cookies.get(cookie_name(request, TABLET), "")
    if name not in sign_ins_of(request).at_tablet(tablet):
        return _switch(request, "", "This tablet does not know that name. Sign in with your password.", 403)
    wait = waits.pins.begin(name)
    if wait:
        return _switch(request, name, _wait_words(wait), 429)
    begun = sign_ins_of(request).by_pin(
        tablet, name, _secret(form, "pin"), address=address_of(request)
    )  # fmt: skip
    if begun is None:
        if waits.pins.count(name) >= PINS_LEFT:
            sign_ins_of(request).people.forget_pin(name, by=name, why=f"{PINS_LEFT} wrong ones in a row")
            waits.pins.forgive(name)
            return _switch(
                request, "", "Too many wrong PINs. Sign in with your password and set a new one.", 403
            )
        return _switch(request, name, "The PIN is not right.", 403)
    waits.pins.forgive(name)
    return _begin(request, begun, form.text("back", "/"))


@shown("anyone")
def first_page(request: Request) -> Response:
    """The page behind a link: a new password, twice."""
    name = sign_ins_of(request).people.name_of_link(request.path_params["link"])
    if not name:
        raise Refused("This link was used, replaced, or is too old. Ask an administrator for a new one.", 404)
    return page(request, "first.html", title="Choose a password", name=name, link=request.path_params["link"])


def first(request: Request, form: Form) -> Response:
    """Set the password by a link."""
    _only_encrypted(request)
    password = _twice(form)
    sign_ins_of(request).people.use_link(request.path_params["link"], password)
    return to("/sign-in")


@shown("own things")
def me_page(request: Request) -> Response:
    """The own sign-ins, tokens, password and PIN; alone only the name."""
    return _me(request)


def _me(request: Request, token: str = "") -> Response:
    visitor, shared = visitor_of(request), settings_of(request).shared
    signs = sign_ins_of(request)
    return page(
        request, "me.html", title="Me", visitor=visitor, made=token,
        sign_ins=signs.own(visitor) if shared else (), tokens=signs.own_tokens(visitor) if shared else (),
        person=next((each for each in signs.people.everybody() if each.name == visitor.name), None) if shared else None,
        changes=changes_of(signs.people, visitor.name) if shared else (),
        may_words=[WORDS[each] for each in LEAST if visitor.may(each)],
    )  # fmt: skip


def my_name(request: Request, form: Form) -> Response:
    """Alone: the name that stands behind the entries."""
    response = to("/me")
    if not settings_of(request).shared:
        keep_cookie(request, response, WHO, form.text("name", limit=60))
    return response


def my_password(request: Request, form: Form) -> Response:
    """Change the own password; one signs in again afterwards, everywhere."""
    new = _twice(form)
    with_wait = _again(request)
    sign_ins_of(request).change_password(visitor_of(request), _secret(form, "old"), new)
    with_wait()
    response = to("/sign-in")
    drop_secret(request, response, SESSION)
    return response


def my_pin(request: Request, form: Form) -> Response:
    """Set the own PIN, or take it away."""
    with_wait = _again(request)
    pin = "" if form.text("away") else _secret(form, "pin")
    if not pin and not form.text("away"):
        pin = "-"
    sign_ins_of(request).set_pin(visitor_of(request), _secret(form, "old"), pin)
    with_wait()
    return to("/me")


def my_token(request: Request, form: Form) -> Response:
    """Make a token for a program; this answer is the only one that shows it."""
    days = form.text("days", "90")
    made = sign_ins_of(request).make_token(
        visitor_of(request), form.text("name", limit=60), form.many("scope"),
        int(days) if days.isascii() and days.isdigit() and len(days) < 5 else 0,
    )  # fmt: skip
    return _me(request, made)


def end_token(request: Request, form: Form) -> Response:
    """End one of the own tokens."""
    sign_ins_of(request).revoke_token(visitor_of(request), form.text("id"))
    return to("/me")


def end_sign_in(request: Request, form: Form) -> Response:
    """End one of the own sign-ins, or all others, for which the password is asked again."""
    with_wait = _again(request)
    sign_ins_of(request).end_own(visitor_of(request), _secret(form, "old"), form.text("id"))
    with_wait()
    return to("/me")


@shown("administer")
def people_page(request: Request) -> Response:
    """Everybody, their roles, tablets, and the log of accounts."""
    return _people(request)


def _people(request: Request, added: Any = None) -> Response:
    signs = sign_ins_of(request)
    link = f"{str(request.base_url).rstrip('/')}/first/{quote(added.link)}" if added and added.link else ""
    return page(
        request, "people.html", title="People", people=signs.people.everybody(), roles=ROLES, added=added, link=link,
        tablets=signs.tablets(), lines=signs.people.lines(60), unusual=_unusual(request),
        here_paired=bool(request.cookies.get(cookie_name(request, TABLET))),
    )  # fmt: skip


def _unusual(request: Request) -> tuple[str, ...]:
    people = sign_ins_of(request).people
    return unusual(people.lines(5000), counts_of(request).today(), people.clock())


def add_person(request: Request, form: Form) -> Response:
    """Add an account; the answer shows the link by which the person sets a password."""
    people = sign_ins_of(request).people
    return _people(
        request, people.add(form.text("name", limit=200), form.text("role", limit=60), by=_by(request))
    )


def change_person(request: Request, form: Form) -> Response:
    """Change a role, close or open an account, take a PIN away, or draw a new link."""
    people, name, what = (
        sign_ins_of(request).people,
        form.text("name", limit=200),
        form.text("what", limit=60),
    )
    if what == "role":
        people.set_role(name, form.text("role", limit=60), by=_by(request))
    elif what in ("close", "open"):
        people.set_active(name, what == "open", by=_by(request))
    elif what == "pin":
        people.forget_pin(name, by=_by(request))
    elif what == "link":
        return _people(request, people.link(name, by=_by(request)))
    return to("/people")


def pair_tablet(request: Request, form: Form) -> Response:
    """Pair the tablet on which this form was filled in."""
    response = to("/people")
    token = sign_ins_of(request).pair(visitor_of(request), form.text("name", limit=60))
    keep_secret(request, response, TABLET, token, YEAR)
    return response


def unpair_tablet(request: Request, form: Form) -> Response:
    """End the pairing of a tablet, wherever it is."""
    sign_ins_of(request).unpair(visitor_of(request), form.text("id"))
    return to("/people")


def _by(request: Request) -> str:
    return visitor_of(request).name or "alone at the machine"


def _secret(form: Form, name: str) -> str:
    """A password as it was typed, blanks and all."""
    return form.words.get(name, ("",))[0]


def _twice(form: Form) -> str:
    password = _secret(form, "password")
    if password != _secret(form, "again"):
        raise Refused("The two passwords are not the same. Go back and type them again.", 422)
    return password


def _again(request: Request) -> Any:
    """Count a try of the own password; call the answer when it was right."""
    name, waits = visitor_of(request).name, waits_of(request)
    wait = waits.names.begin(("again", name))
    if wait:
        raise Refused(_wait_words(wait), 429)
    return lambda: waits.names.forgive(("again", name))


def _begin(request: Request, begun: Any, back: str) -> Response:
    _end_held(request)
    news = news_of(sign_ins_of(request).people, begun.visitor.name)
    response = to(f"/changes?back={quote(back)}" if news else back)
    keep_secret(request, response, SESSION, begun.token)
    return response


def _end_held(request: Request) -> None:
    """A token that this browser held before is never used again."""
    held = request.cookies.get(cookie_name(request, SESSION), "")
    if held:
        sign_ins_of(request).end(held)


def _only_encrypted(request: Request) -> None:
    if not encrypted(request) and not local(request):
        raise Refused(
            "This page came without encryption, so no password is taken: anybody in the network could read it. "
            "Open it by https; docs/serving.md says how to set that up.",
            403,
        )


def _wait_words(seconds: float) -> str:
    whole = math.ceil(seconds)
    told = f"{whole} s" if whole < 120 else f"{math.ceil(whole / 60)} min"
    return f"Too many tries. Try again in {told}."


routes = [
    Route("/sign-in", sign_in_page),
    Route("/sign-in", posted(sign_in, needs="anyone"), methods=["POST"]),
    Route("/sign-out", posted(sign_out, needs="anyone"), methods=["POST"]),
    Route("/switch", switch_page),
    Route("/switch", posted(switch, needs="anyone"), methods=["POST"]),
    Route("/first/{link}", first_page),
    Route("/first/{link}", posted(first, needs="anyone"), methods=["POST"]),
    Route("/me", me_page),
    Route("/me/name", posted(my_name, needs="own things"), methods=["POST"]),
    Route("/me/password", posted(my_password, needs="own things"), methods=["POST"]),
    Route("/me/pin", posted(my_pin, needs="own things"), methods=["POST"]),
    Route("/me/token", posted(my_token, needs="own things"), methods=["POST"]),
    Route("/me/token/end", posted(end_token, needs="own things"), methods=["POST"]),
    Route("/me/sign-in/end", posted(end_sign_in, needs="own things"), methods=["POST"]),
    Route("/people", people_page),
    Route("/people/add", posted(add_person, needs="administer"), methods=["POST"]),
    Route("/people/change", posted(change_person, needs="administer"), methods=["POST"]),
    Route("/people/tablet", posted(pair_tablet, needs="administer"), methods=["POST"]),
    Route("/people/tablet/end", posted(unpair_tablet, needs="administer"), methods=["POST"]),
]
