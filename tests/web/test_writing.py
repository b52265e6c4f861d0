"""Starting a lot and handing it over; what people type comes back as text, whatever it is."""

from __future__ import annotations

import html

import pytest

from .conftest import send

pytestmark = pytest.mark.whole

MARKUP = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "'; alert(1); //",
    "{{ 7 * 7 }} {% raw %}",
    "</textarea></title><svg onload=alert(1)>",
    "javascript:alert(1)",
    "‮right to left and a combining a\u0301",
)
PLAN = "humidity-switch/plan.yaml"


def test_a_lot_is_started_from_a_plan_once_however_often_the_form_is_sent(copy):
    lots = copy.get("/").text.count('class="lot-name"')
    words = {"plan": PLAN, "wafers": "3", "who": "AB", "note": "for the spring"}
    first = send(copy, "/lots/new", "/lots", **words, entry_id="3f0e6c58-8f55-4f0b-9d39-1a3d4dd1a001")
    again = send(copy, "/lots/new", "/lots", **words, entry_id="3f0e6c58-8f55-4f0b-9d39-1a3d4dd1a001")
    assert first.status_code == again.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    assert copy.get("/").text.count('class="lot-name"') == lots + 1
    page = copy.get(first.headers["location"] + "/resume").text
    assert "Nothing was written since the start" in page
    assert "for the spring" in page


def test_the_name_is_asked_once_and_known_afterwards(copy):
    assert "Your name or initials" in copy.get("/lots/new").text
    send(copy, "/lots/new", "/lots", plan=PLAN, wafers="1", who="Åsa B")
    page = copy.get("/lots/new").text
    assert "Your name or initials" not in page
    assert "Åsa B" in page


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"wafers": "0"}, "1 to 25"),
        ({"wafers": "many"}, "a whole number"),
        ({"plan": "../../etc/passwd"}, "name of a plan"),
        ({"plan": "none.yaml"}, "folder of plans"),
        ({"who": ""}, "name or initials"),
    ],
)
def test_what_cannot_be_started_is_said_in_words(copy, words, said):
    answer = send(copy, "/lots/new", "/lots", **{"plan": PLAN, "wafers": "2", "who": "AB", **words})
    assert answer.status_code == 422
    assert said in answer.text
    assert "Nothing was changed" in answer.text


def test_a_lot_is_handed_over_with_what_the_other_must_know(copy, story):
    lot = story.lots[0]
    sent = send(
        copy, f"/lot/{lot}/resume", f"/lot/{lot}/hand-over", to="TL", words="W2 has a scratch", who="CM"
    )
    assert sent.status_code == 303
    page = copy.get(f"/lot/{lot}/resume").text
    assert "CM handed over to TL" in page
    assert "W2 has a scratch" in page
    assert "with TL" in copy.get("/").text


def test_what_people_type_is_shown_as_text(copy, story):
    lot = story.lots[0]
    for text in MARKUP:
        send(copy, f"/lot/{lot}/resume", f"/lot/{lot}/hand-over", to=text, words=text, who=text[:60])
        page = copy.get(f"/lot/{lot}/resume").text
        # A letter that turns the line round is shown as one that cannot be shown.
        assert text.replace("\u202e", "\N{REPLACEMENT CHARACTER}") in html.unescape(page)
        assert "\u202e" not in page
        if set(text) & set("<>\"'"):
            assert text not in page
            assert text not in copy.get("/").text
    started = send(copy, "/lots/new", "/lots", plan=PLAN, wafers="1", note=MARKUP[0]).headers["location"]
    assert MARKUP[0] not in copy.get(f"{started}/resume").text


def test_a_form_that_is_too_large_is_refused_before_it_is_read(copy):
    answer = send(copy, "/lots/new", "/lots", plan=PLAN, wafers="1", note="x" * 300_000)
    assert answer.status_code == 413
    assert "kB" in answer.text
