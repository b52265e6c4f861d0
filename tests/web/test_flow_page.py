"""The flow of a lot: new versions of what is not begun, with a reason, and nothing typed is lost."""

import html
import re
import shutil

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench
from filmwright.web import Settings, application

pytestmark = pytest.mark.whole
HERE = "http://127.0.0.1:8537"


@pytest.fixture
def shown(story, tmp_path):
    """A browser before a copy of the invented bench, the bench, and a lot in the middle of its work."""
    shutil.copytree(story.record.parent, tmp_path / "story")
    with (
        Bench.open(tmp_path / "story" / "record.sqlite") as bench,
        TestClient(application(bench, Settings()), base_url=HERE) as client,
    ):
        yield client, bench, bench.lots()[-1].name


def sent(client, lot, **words):
    """What the form of the flow sends, with some of it changed."""
    page = client.get(f"/lot/{lot}/flow").text
    text = html.unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page, re.DOTALL).group(1))
    return {
        "token": re.search(r'data-token="([0-9a-f]{64})"', page).group(1),
        "seen": re.search(r'name="seen" value="([0-9a-f]{64})"', page).group(1),
        "text": text, "who": "AB", "reason": "the last step was missing a remark", **words,
    }  # fmt: skip


def test_a_new_version_is_saved_listed_and_its_difference_shown(shown):
    client, bench, lot = shown
    form = sent(client, lot)
    assert form["text"] == bench.flow_text(lot)
    answer = client.post(f"/lot/{lot}/flow/save", data={**form, "text": form["text"] + "# a remark\n"})
    assert answer.status_code == 200
    assert bench.flow_text(lot) == form["text"] + "# a remark\n"
    assert [each.why for each in bench.versions(lot)][1:] == ["the last step was missing a remark"]
    version = bench.versions(lot)[-1].digest
    assert "<code># a remark</code>" in client.get(f"/lot/{lot}/flow?version={version}").text
    late = client.post(
        f"/lot/{lot}/flow/save", data={**form, "text": form["text"] + "# mine\n", "entry_id": ""}
    )
    assert late.status_code == 409
    assert "# mine" in late.text
    assert "<code># a remark</code>" in late.text


def test_what_was_begun_cannot_be_changed_and_the_text_stays_as_typed(shown):
    client, bench, lot = shown
    form = sent(client, lot)
    first = re.search(r"(?m)^  - (\w+): (.+)$", form["text"])
    changed = form["text"].replace(first[0], "  - park: nitrogen box\n" + first[0], 1)
    answer = client.post(f"/lot/{lot}/flow/save", data={**form, "text": changed})
    assert answer.status_code == 422
    assert "park: nitrogen box" in answer.text
    assert "Not saved" in answer.text
    assert bench.flow_text(lot) == form["text"]
    bare = client.post(f"/lot/{lot}/flow/save", data={**form, "text": form["text"] + "#\n", "reason": " "})
    assert bare.status_code == 422


def test_the_script_asks_about_a_flow_as_about_a_plan(shown):
    client, _, lot = shown
    form = sent(client, lot)
    head = {"x-form-token": form["token"], "accept": "application/json"}
    told = client.post(
        f"/lot/{lot}/flow/live", json={"text": form["text"], "stage": "rules"}, headers=head
    ).json()
    assert told["stage"] == "rules"
    assert told["steps"]
    line = form["text"].splitlines().index("steps:") + 2
    body = {"text": form["text"].replace("steps:\n", "steps:\n  - d\n"), "line": line, "column": 6}
    offers = client.post(f"/lot/{lot}/flow/complete", json=body, headers=head).json()["offers"]
    assert offers[0]["text"] == "deposit: "
    assert client.get("/lot/NONE-1/flow").status_code == 404


def test_a_stop_ahead_is_accepted_for_a_reason_that_is_kept(shown):
    client, bench, lot = shown
    form = sent(client, lot, reason="hotter, as the last lot drifted")
    form["text"] = form["text"].replace("temperature: 250 degC", "temperature: 800 degC")
    assert form["text"] != bench.flow_text(lot)
    refused = client.post(f"/lot/{lot}/flow/save", data=form)
    assert refused.status_code == 422
    assert len(bench.versions(lot)) == 1
    field = html.unescape(re.search(r'name="(accept-[^"]+)"', refused.text)[1])
    rule = field.removeprefix("accept-")
    assert rule == "too hot for a film"
    bare = client.post(f"/lot/{lot}/flow/save", data={**form, field: "  "})
    assert bare.status_code == 422
    assert (
        client.post(f"/lot/{lot}/flow/save", data={**form, field: "a test piece without film"}).status_code
        == 200
    )
    version = bench.versions(lot)[-1]
    assert (version.number, version.why) == (2, "hotter, as the last lot drifted")
    told = [(each.name, each.text) for each in bench.written(lot) if each.kind == "acknowledge"]
    assert (rule, "a test piece without film") in told
