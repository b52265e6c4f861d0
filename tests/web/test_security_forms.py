"""Every field of every form of every page, found by following links, filled with what people and others might type."""

import re
import shutil
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, People, SignIns, Visitor
from filmwright.web import Settings, application

pytestmark = pytest.mark.property

HERE = "http://127.0.0.1:8537"
MARK = "zqxj7"
NASTY = (
    f'<script>{MARK}</script>', f'"><img src=x onerror={MARK}>', f"'><{MARK}>", f"{{{{ {MARK} }}}}", f"</textarea><{MARK}>",
    f"javascript:{MARK}", "", " ", "-1", "1e999", "nan", "0", "999999999999999999999", "58 nm", "../../etc/passwd", "\0", "\ud7ff",
    "a" * 5000, "'; DROP TABLE lots;--", "%00", "\r\nx: y", "٣", "𝟙", "=1+1", "{}", "[]", '{"kind": "set"}', "null",
)  # fmt: skip
RAW = re.compile(rf"<(script|img|{MARK})[^>]*{MARK}|<script>{MARK}|<{MARK}>")
EXAMPLES, PAGES = 4, 70
ROOTS = ["/", "/me", "/people", "/parts", "/plans"]
WORDS = "tulip harbour seven crayon"


class Reader(HTMLParser):
    """The links and forms of a page."""

    def __init__(self):
        super().__init__()
        self.links, self.forms, self._form, self._select = [], [], None, ""

    def handle_starttag(self, tag, attributes):
        found = dict(attributes)
        if tag == "a" and found.get("href"):
            self.links.append(found["href"])
        elif tag == "form":
            self._form = {
                "action": found.get("action", ""),
                "method": found.get("method", "get").lower(),
                "fields": {},
            }
            self.forms.append(self._form)
        elif self._form is not None and found.get("name"):
            if tag == "select":
                self._select = found["name"]
                self._form["fields"][self._select] = ""
            elif tag in {"input", "textarea", "button"} and found.get("type") != "file":
                self._form["fields"].setdefault(found["name"], found.get("value") or "")
        elif tag == "option" and self._form is not None and self._select:
            self._form["fields"][self._select] = (
                self._form["fields"][self._select] or found.get("value") or ""
            )

    def handle_endtag(self, tag):
        if tag == "form":
            self._form = None


def kind_of(path):
    """An address without what differs from lot to lot."""
    return re.sub(r"/(lot|labels|wafer|step|plan|tool|first)/[^/]+", r"/\1/…", urlsplit(path).path)


def crawl(client):
    """Pages by their address, one of each kind, with what they hold."""
    seen, waiting, pages, kinds = set(), list(client.roots), {}, {}
    while waiting and len(pages) < client.most:
        path = waiting.pop(0)
        if path in seen or kinds.get(kind_of(path), 0) >= 2:
            continue
        seen.add(path)
        kinds[kind_of(path)] = kinds.get(kind_of(path), 0) + 1
        answer = client.get(path)
        assert answer.status_code < 500, path
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        read = Reader()
        read.feed(answer.text)
        pages[path] = (answer, read)
        for link in read.links:
            there = urlsplit(urljoin(f"{HERE}{path}", link))
            if there.netloc == urlsplit(HERE).netloc:
                waiting.append(there.path + (f"?{there.query}" if there.query else ""))
    return pages


@pytest.fixture(scope="module", params=["alone", "shared"])
def bench_pages(request, story, tmp_path_factory):
    """A browser and the pages it finds: alone from page to page, shared only what is about people."""
    folder = tmp_path_factory.mktemp("forms") / "bench"
    shutil.copytree(story.record.parent, folder)
    plans = folder / story.plans.relative_to(story.record.parent)
    shared = request.param == "shared"
    base = "https://bench.example" if shared else HERE
    with (
        Bench.open(folder / story.record.name, plans=plans) as bench,
        TestClient(
            application(bench, Settings(plans=plans, shared=shared, names=())), base_url=base
        ) as client,
    ):
        client.roots, client.most = (
            (["/sign-in", "/switch", "/me", "/people"], 4) if shared else (ROOTS, PAGES)
        )
        if shared:
            people = People(bench.store)
            signs = SignIns(people)
            people.add("ada", "administrator", by="the test", password=WORDS)
            client.cookies.set("__Host-session", signs.by_password("ada", WORDS).token)
            client.cookies.set(
                "__Host-tablet", signs.pair(Visitor(name="ada", role="administrator"), "bench")
            )
            link = people.add("otto", "operator", by="ada").link
            client.roots.append(f"/first/{link}")
            client.most += 1
        yield client, crawl(client)


def forms_of(pages):
    """One form of each kind."""
    found = {}
    for path, (_, read) in pages.items():
        for form in read.forms:
            action = urljoin(f"{HERE}{path}", form["action"] or path)
            found.setdefault(
                (kind_of(action), tuple(sorted(form["fields"]))), {**form, "action": urlsplit(action).path}
            )
    return found


def test_forms_are_found_and_each_carries_a_token(bench_pages):
    _, pages = bench_pages
    forms = forms_of(pages)
    assert len(forms) >= 7
    for (kind, fields), form in forms.items():
        if form["method"] == "post":
            assert "token" in fields, kind


def filled(client, form):
    """A test that fills one form with anything."""
    names = [each for each in form["fields"] if each != "token"]

    @given(
        st.fixed_dictionaries(
            {each: st.one_of(st.sampled_from(NASTY), st.text(max_size=40)) for each in names}
        )
    )
    @settings(
        max_examples=EXAMPLES, deadline=None, derandomize=True, phases=[Phase.generate], database=None,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    def fill(words):
        token = {"token": form["fields"]["token"]} if "token" in form["fields"] else {}
        words = {name: word.encode("utf-8", "ignore").decode() for name, word in words.items()}
        if form["method"] == "post":
            answer = client.post(form["action"], data={**words, **token}, follow_redirects=False)
        else:
            answer = client.get(form["action"], params=words, follow_redirects=False)
        assert answer.status_code < 500, (form["action"], words, answer.text[-600:])
        assert not RAW.search(answer.text), (form["action"], words)

    return fill


def test_whatever_is_typed_is_answered_with_words_and_never_comes_back_as_markup(bench_pages):
    client, pages = bench_pages
    for form in forms_of(pages).values():
        if form["action"] != "/sign-out":
            filled(client, form)()


def test_one_field_at_a_time_with_markup_in_it(bench_pages):
    client, pages = bench_pages
    for form in forms_of(pages).values():
        if form["method"] != "post" or form["action"] == "/sign-out":
            continue
        for name in form["fields"]:
            if name in {"token", "entry_id", "seen"}:
                continue
            sent = {**form["fields"], name: f'<script>{MARK}</script>"><{MARK}>'}
            sent.pop("entry_id", None)
            answer = client.post(form["action"], data=sent, follow_redirects=False)
            assert answer.status_code < 500, (form["action"], name, answer.text[-600:])
            assert not RAW.search(answer.text), (form["action"], name)


def test_what_was_kept_is_shown_as_text_on_every_page(bench_pages):
    client, _ = bench_pages
    client.cookies.set("who", f"%3Cscript%3E{MARK}%3C%2Fscript%3E")
    for path, (answer, _) in crawl(client).items():
        assert not RAW.search(answer.text), path
