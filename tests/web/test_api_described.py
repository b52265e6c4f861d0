"""The description and the programs' application agree: requests are made up from the description, and answers held against it."""

import os
import shutil

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from filmwright.desk.bench import Bench
from filmwright.web import Settings, application
from filmwright.web.limits import Bucket

pytestmark = pytest.mark.property

EXAMPLES = int(os.environ.get("FILMWRIGHT_API_EXAMPLES", "10"))
"""Of each address and mode; ``tools/proof/fuzz_api.py`` takes many more."""


@pytest.fixture(scope="module")
def described(story, tmp_path_factory):
    """The description, over a copy of the invented bench that may be written into."""
    import schemathesis

    folder = tmp_path_factory.mktemp("fuzzed") / "bench"
    shutil.copytree(story.record.parent, folder)
    with Bench.open(folder / story.record.name) as bench:
        app = application(bench, Settings())
        api = next(each.app for each in app.routes if getattr(each, "path", "") == "/api")
        api.state.buckets = {times: Bucket(rate=1e9, burst=10**9) for times in (1, 10)}
        schema = schemathesis.openapi.from_asgi("/api/openapi.json", app, headers={"host": "127.0.0.1"})
        yield schema, next(iter(bench.heads()))


@pytest.mark.parametrize("mode", ["positive", "negative"])
def test_made_up_requests_get_answers_as_described_and_never_a_fault(described, mode):
    from schemathesis.generation import GenerationMode

    schema, lot = described
    operations = 0
    for found in schema.get_all_operations():
        operation = found.ok()

        @given(case=operation.as_strategy(generation_mode=GenerationMode(mode)))
        @settings(
            max_examples=EXAMPLES, deadline=None, derandomize=True, phases=[Phase.generate], database=None,
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        def check(case):
            if "lot" in (case.path_parameters or {}) and mode == "positive":
                case.path_parameters["lot"] = lot
            answer = case.call(headers={"host": "127.0.0.1"})
            assert answer.status_code < 500, answer.text
            case.operation.validate_response(answer)

        check()
        operations += 1
    assert operations >= 10
