"""The pages over benches of their own, asked as a browser asks; the whole story of the example is made once."""

from __future__ import annotations

import re
import shutil

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench, example_bench
from filmwright.web import Settings, application

HERE = "http://127.0.0.1:8537"


@pytest.fixture(scope="session")
def story(tmp_path_factory):
    """The invented bench; tests that write into it take a copy."""
    return example_bench(tmp_path_factory.mktemp("example"))


@pytest.fixture
def browser(tmp_path):
    """A browser before the pages of an empty record."""
    with (
        Bench.open(tmp_path / "record.sqlite", create=True) as bench,
        TestClient(application(bench, Settings()), base_url=HERE) as client,
    ):
        yield client


@pytest.fixture
def copy(story, tmp_path):
    """A browser before a copy of the invented bench, for writing into."""
    shutil.copytree(story.record.parent, tmp_path / "copy")
    plans = tmp_path / "copy" / "plans"
    with (
        Bench.open(tmp_path / "copy" / "record.sqlite", plans=plans) as bench,
        TestClient(application(bench, Settings(plans=plans, example=True)), base_url=HERE) as client,
    ):
        yield client


@pytest.fixture(scope="session")
def example(story, tmp_path_factory):
    """A browser before the pages of the invented bench, for looking only."""
    # The story itself is never open while tests copy it: a record that is in use is backed up, not copied.
    folder = tmp_path_factory.mktemp("looked") / "at"
    shutil.copytree(story.record.parent, folder)
    plans = folder / "plans"
    with (
        Bench.open(folder / story.record.name, plans=plans) as bench,
        TestClient(application(bench, Settings(plans=plans, example=True)), base_url=HERE) as client,
    ):
        yield client


def send(client, page, path, **words):
    """Fill the form of a page that posts to an address and send it, with what it carries hidden."""
    text = client.get(page).text
    forms = re.findall(r"<form[^>]*>.*?</form>", text, re.DOTALL)
    form = next(each for each in forms if f'action="{path}"' in each)
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form))
    return client.post(path, data={**hidden, **words}, follow_redirects=False)
