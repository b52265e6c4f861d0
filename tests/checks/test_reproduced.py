"""Every check value is reproduced from its own inputs, held by a named test, or left out with a reason."""

import importlib
import re

import pytest
from comparing import ELSEWHERE, FILE, LEFT, OURS, ROOT, disagreement, entries
from counting import PAGE, page

for _room in ("of_facts", "of_films", "of_light", "of_devices"):
    importlib.import_module(_room)
ENTRIES = {each["id"]: each for each in entries()}
needs_values = pytest.mark.skipif(not ENTRIES, reason=f"check values are not at {FILE}")


@pytest.mark.literature
@pytest.mark.parametrize("name", sorted(OURS))
def test_ours_is_that_of_the_source(name: str):
    # source, kind and tolerance stand in the entry itself
    if name not in ENTRIES:
        pytest.skip(f"check values are not at {FILE}")
    assert disagreement(ENTRIES[name]) == "", ENTRIES[name]["quantity"]


@needs_values
@pytest.mark.property
def test_no_check_value_is_passed_over_and_none_is_told_twice():
    ways = [set(OURS), set(ELSEWHERE), set(LEFT)]
    assert set().union(*ways) == set(ENTRIES)
    assert sum(map(len, ways)) == len(ENTRIES)
    assert all(len(why) > 15 for why in LEFT.values())


@pytest.mark.property
@pytest.mark.parametrize(("file", "test"), sorted(set(ELSEWHERE.values())))
def test_the_test_that_holds_it_is_there(file: str, test: str):
    assert re.search(rf"def {test}\b", (ROOT / file).read_text("utf-8"))


@needs_values
@pytest.mark.property
def test_a_wrong_number_is_told():
    entry = ENTRIES["T02-005"]
    assert "beside" in disagreement({**entry, "value": entry["value"] * 1.001})
    assert disagreement({**entry, "value": [entry["value"], 1]}) == "1 numbers beside 2"


@needs_values
@pytest.mark.property
def test_the_page_says_what_the_tests_do():
    assert PAGE.read_text("utf-8") == page(), "run tools/check_values.py"
