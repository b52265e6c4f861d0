"""Every page of the frame, over an empty record, over the invented bench and over lots in every state."""

from __future__ import annotations

import gzip
import re
from html.parser import HTMLParser
from urllib.parse import urldefrag, urljoin

import pytest

pytestmark = pytest.mark.whole


class Found(HTMLParser):
    """Addresses, ids and what must not be in a page."""

    def __init__(self, text):
        super().__init__()
        self.links, self.loaded, self.ids, self.wrong = set(), set(), [], []
        self.tag = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tag = tag
        named = dict(attrs)
        self.wrong += [f"{tag} {name}" for name in named if name == "style" or name.startswith("on")]
        if tag == "style" or (tag == "script" and "src" not in named):
            self.wrong.append(tag)
        if named.get("href", "").startswith("javascript:"):
            self.wrong.append(named["href"])
        if "id" in named:
            self.ids.append(named["id"])
        if tag == "a":
            self.links.add(named.get("href", ""))
        if tag in ("link", "script", "img"):
            self.loaded.add(named.get("href") or named.get("src"))


def walked(client, start="/"):
    """Every page that can be reached by links, with its answer."""
    seen, ahead = {}, [start]
    while ahead:
        path = ahead.pop()
        if path in seen:
            continue
        seen[path] = answer = client.get(path)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        found = Found(answer.text)
        for link in found.links | found.loaded:
            goal = urldefrag(urljoin(path, link))[0]
            # One wafer stands for its row and some steps for all: each of these pages asks for an emulation.
            alike = re.search(r"wafer[=/]W[2-9]|/step/(?!0[29][AE])", goal)
            if goal.startswith("/") and goal not in seen and not alike:
                ahead.append(goal)
    return seen


@pytest.fixture(scope="module")
def pages(example):
    """All pages of the invented bench."""
    return walked(example)


def test_no_link_leads_nowhere(pages):
    broken = {path: answer.status_code for path, answer in pages.items() if answer.status_code >= 400}
    assert not broken
    assert len(pages) > 20


def test_no_page_has_a_script_or_style_of_its_own(pages):
    for path, answer in pages.items():
        if "text/html" in answer.headers["content-type"]:
            found = Found(answer.text)
            assert not found.wrong, path
            assert len(found.ids) == len(set(found.ids)), path


def test_no_page_loads_much_script(example, pages):
    """Below 200 kB as it goes over the network, with the modules that modules ask for: the limit of the tool itself."""
    modules = {}

    def weight(path, met):
        if path in met:
            return 0
        met.add(path)
        if path not in modules:
            answer = example.get(path)
            assert answer.status_code == 200, path
            asked = re.findall(r"""(?:from|import)\s*\(?\s*["']([^"']+)["']""", answer.text)
            # The client unpacks what it gets; the heaviest that it can have been is told by pressing it alike.
            packed = len(gzip.compress(answer.content, 4))
            modules[path] = packed, [urljoin(path, each) for each in asked]
        own, further = modules[path]
        return own + sum(weight(each, met) for each in further)

    heaviest = 0
    for path, answer in pages.items():
        if "text/html" in answer.headers.get("content-type", ""):
            met = set()
            scripts = [each for each in Found(answer.text).loaded if each and each.endswith(".js")]
            loaded = sum(weight(urljoin(path, each), met) for each in scripts)
            assert loaded < 200_000, (path, sorted(met))
            heaviest = max(heaviest, len(met))
    assert heaviest > 4, "no page asks for a module of a module: the counting is wrong"


def test_every_page_says_that_all_of_it_is_invented(pages):
    assert all(
        "Invented example" in answer.text
        for answer in pages.values()
        if "text/html" in answer.headers["content-type"]
    )


def test_scripts_of_a_bench_page_are_small(pages):
    import gzip

    scripts = {path: answer.content for path, answer in pages.items() if path.endswith(".js")}
    assert scripts
    assert sum(len(gzip.compress(raw)) for raw in scripts.values()) < 200_000


@pytest.mark.parametrize("path", ["/", "/parts", "/lots/new"])
def test_an_empty_record_says_what_to_do_first(browser, path):
    answer = browser.get(path)
    assert answer.status_code == 200
    assert not Found(answer.text).wrong


def test_the_grid_opens_what_is_at_work_and_what_is_asked_for(example, story):
    page = example.get(f"/lot/{story.lots[-1]}").text
    assert "09E" in page
    assert "03J" not in page
    assert "03J" in example.get(f"/lot/{story.lots[-1]}?open=3").text


def test_the_grid_shows_every_state_in_words(example, story):
    page = example.get(f"/lot/{story.lots[-1]}?open=all").text
    for word in ("done", "ready", "running", "rework", "scrapped", "waiting"):
        assert f"<span>{word}</span>" in page
    assert "<span>held</span>" in example.get(f"/lot/{story.lots[1]}").text


def test_an_unknown_lot_is_not_found_in_words(example):
    answer = example.get("/lot/K7M-4H7")
    assert answer.status_code == 404
    assert "K7M-4H7" in answer.text
