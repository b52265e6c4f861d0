"""The pages of plans: read, reviewed and saved without a script, and no name that leads elsewhere."""

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
def writer(story, tmp_path):
    """A browser before a copy of the invented bench, and the folder of its plans."""
    shutil.copytree(story.record.parent, tmp_path / "story")
    plans = tmp_path / "story" / "plans"
    with (
        Bench.open(tmp_path / "story" / "record.sqlite", plans=plans) as bench,
        TestClient(application(bench, Settings(plans=plans)), base_url=HERE) as client,
    ):
        yield client, plans


def token_of(page):
    """The token that a page's forms carry."""
    return re.search(r'data-token="([0-9a-f]{64})"', page.text).group(1)


def first_plan(client):
    """The address of the first plan in the list."""
    return re.search(r'href="(/plan/[^"]+)"', client.get("/plans").text).group(1)


def sent(client, path, **words):
    """What the form of a plan sends, with some of it changed."""
    page = client.get(path)
    seen = re.search(r'name="seen" value="([0-9a-f]{64})"', page.text).group(1)
    text = html.unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page.text, re.DOTALL).group(1))
    return {"token": token_of(page), "seen": seen, "text": text, "who": "AB", "reason": "why not", **words}


def test_a_plan_is_read_changed_and_saved_without_a_script(writer):
    client, plans = writer
    path = first_plan(client)
    file = plans / path.removeprefix("/plan/")
    form = sent(client, path)
    assert form["text"] == file.read_text()
    answer = client.post(
        f"{path}/save", data={**form, "text": form["text"].replace("\n", "\r\n") + "# more\r\n"}
    )
    assert answer.status_code == 200
    assert file.read_text() == form["text"] + "# more\n"
    assert "why not" in answer.text
    again = client.post(f"{path}/save", data={**form, "text": form["text"] + "# other\n"})
    assert again.status_code == 409
    assert "# more" in again.text
    assert "# other" in again.text
    assert file.read_text() == form["text"] + "# more\n"
    version = re.search(rf'href="{re.escape(path)}\?version=([0-9a-f]+)"', client.get(path).text).group(1)
    assert "<code># more</code>" in client.get(f"{path}?version={version}").text


def test_the_review_button_draws_sections_without_a_script(writer):
    client, _ = writer
    path = first_plan(client)
    form = sent(client, path)
    answer = client.post(
        f"{path}/review", data={**form, "text": form["text"] + "\n# kept while it is reviewed\n"}
    )
    assert "# kept while it is reviewed" in answer.text
    picture = re.search(r'src="(/picture/[0-9a-f]+\.svg)" alt="Section', answer.text).group(1)
    assert client.get(picture).text.startswith("<svg")
    assert client.get(picture).headers["content-type"] == "image/svg+xml"


def test_what_cannot_be_read_is_told_at_its_line_and_markup_stays_words(writer):
    client, _ = writer
    path = first_plan(client)
    form = sent(client, path)
    text = form["text"] + "\nsteps<script>: 1\n"
    told = client.post(
        f"{path}/live",
        json={"text": text, "stage": "read"},
        headers={"x-form-token": form["token"], "accept": "application/json"},
    ).json()
    assert told["readable"] is False
    assert told["marks"][0]["line"] == text.count("\n")
    page = client.post(f"{path}/review", data={**form, "text": text}).text
    assert "steps<script>" not in page
    assert "steps&lt;script&gt;" in page


@pytest.mark.parametrize(
    "name",
    [
        "../../record.sqlite",
        "%2e%2e/%2e%2e/etc/passwd.yaml",
        "..%2f..%2fx.yaml",
        "lab.yaml",
        "x%00.yaml",
        "none.yaml",
    ],
)
def test_no_address_leads_out_of_the_folder(writer, name):
    client, _ = writer
    assert client.get(f"/plan/{name}").status_code == 404
    form = {
        "token": token_of(client.get("/plans")),
        "text": "flow: x\nsteps: []\n",
        "who": "AB",
        "reason": "x",
    }
    for what in ("save", "live", "complete", "review"):
        answer = client.post(f"/plan/{name}/{what}", data={**form, "line": "1", "column": "1"})
        assert answer.status_code in (404, 405, 409, 422) or name == "none.yaml"
        assert answer.status_code < 500


def test_a_plan_is_begun_from_another_and_takes_no_name_that_is_taken(writer):
    client, plans = writer
    listed = client.get("/plans").text
    source = re.search(r"<option>([^<]+)</option>", listed).group(1)
    form = {"token": token_of(client.get("/plans")), "name": "my plan", "from": source, "who": "AB"}
    assert client.post("/plans/new", data=form).status_code == 200
    assert (plans / "my plan.yaml").read_text() == (plans / source).read_text()
    assert client.post("/plans/new", data={**form, "from": ""}).status_code in (409, 422)
    assert client.post("/plans/new", data={**form, "name": "../out"}).status_code == 422
    assert not (plans.parent / "out.yaml").exists()


def test_odd_questions_are_refused_calmly(writer):
    client, _ = writer
    path = first_plan(client)
    head = {"x-form-token": token_of(client.get("/plans")), "accept": "application/json"}
    for body in (
        {},
        {"line": "x"},
        {"line": 1, "column": -1},
        {"line": 1e9, "column": 1},
        {"text": [1], "line": "1"},
    ):
        assert client.post(f"{path}/complete", json=body, headers=head).status_code in (400, 422)
    assert (
        client.post(f"{path}/complete", json={"text": "", "line": 99, "column": 99}, headers=head).json()[
            "offers"
        ]
        == []
    )
    assert client.post(f"{path}/live", json={"text": "x" * 2_000_000}, headers=head).status_code == 413


def test_without_a_folder_of_plans_the_list_says_so(browser):
    assert "--plans" in browser.get("/plans").text
    assert browser.get("/plan/x.yaml").status_code == 404
