"""What a person is told about the own account: how good a new password is, and what changed since the last sign-in."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from filmwright.desk.bench.account_news import news_of
from filmwright.desk.bench.passwords import LONGEST, password_words
from filmwright.web.forms import Form, posted, to
from filmwright.web.render import page
from filmwright.web.sessions import sign_ins_of, visitor_of


def words(request: Request, form: Form) -> Response:
    """How good a new password is; nothing of it is kept or counted."""
    people = sign_ins_of(request).people
    name = visitor_of(request).name or people.name_of_link(form.text("link", limit=200))
    password = form.words.get("password", ("",))[0][: 2 * LONGEST]
    taken, said = password_words(password, about=(name, *people.site))
    return JSONResponse({"taken": taken, "said": said})


def changes(request: Request) -> Response:
    """What happened to the account since the sign-in before this one."""
    back = to(request.query_params.get("back", "/")).headers["location"]
    news = news_of(sign_ins_of(request).people, visitor_of(request).name)
    return (
        page(request, "changes.html", title="About your account", news=news, back=back) if news else to(back)
    )


routes = [
    Route("/password-words", posted(words, needs="anyone"), methods=["POST"]),
    Route("/changes", changes),
]
