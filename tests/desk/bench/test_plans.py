"""Plans of the served folder: no way out of it, nothing lost when two people save."""

import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench.plans import (
    SavedMeanwhile,
    difference,
    place_of,
    plan_files,
    plan_versions,
    read_plan,
    save_plan,
)
from filmwright.errors import BadInput

pytestmark = pytest.mark.whole
TEXT = "flow: first\nsteps:\n  - clean: acetone\n"


@pytest.fixture
def folder(tmp_path):
    """A folder with one plan, a lab file and a file beside it that is none of its business."""
    served = tmp_path / "served"
    served.mkdir()
    (served / "one.yaml").write_text(TEXT)
    (served / "lab.yaml").write_text("lab: invented\n")
    (tmp_path / "secret.yaml").write_text("flow: not served\nsteps: []\n")
    return served


def test_plans_are_listed_and_the_lab_file_is_none(folder):
    assert [(each.name, each.title) for each in plan_files(folder)] == [("one.yaml", "first")]


@pytest.mark.parametrize(
    "name",
    ["../secret.yaml", "/etc/hosts.yaml", "a/../../secret.yaml", "..%2fsecret.yaml", "", ".", "lab.yaml",
     "one.yaml\0", "one.json", "a/b/c/d.yaml", ".hidden.yaml", "versions/one.yaml", "one.yaml/", "C:\\x.yaml"],
)  # fmt: skip
def test_no_name_leads_out_of_the_folder(folder, name):
    with pytest.raises(BadInput):
        place_of(folder, name, new=True)


def test_a_link_out_of_the_folder_is_not_followed(folder):
    (folder / "link.yaml").symlink_to(folder.parent / "secret.yaml")
    assert "link.yaml" not in [each.name for each in plan_files(folder)]
    with pytest.raises(BadInput):
        read_plan(folder, "link.yaml")


@given(st.text(max_size=40))
def test_any_name_stays_within_the_folder_or_is_refused(tmp_path_factory, name):
    root = tmp_path_factory.getbasetemp() / "any"
    root.mkdir(exist_ok=True)
    try:
        found = place_of(root, name, new=True)
    except BadInput:
        return
    assert found.resolve().is_relative_to(root.resolve())


def test_who_saves_over_a_newer_text_is_told_and_nothing_is_lost(folder):
    read = read_plan(folder, "one.yaml")
    theirs = save_plan(
        folder, "one.yaml", TEXT + "# theirs\n", seen=read.digest, who="AB", reason="a note was missing"
    )
    with pytest.raises(SavedMeanwhile) as told:
        save_plan(folder, "one.yaml", TEXT + "# mine\n", seen=read.digest, who="CD", reason="mine")
    assert told.value.current == theirs == read_plan(folder, "one.yaml")
    mine = save_plan(
        folder, "one.yaml", TEXT + "# theirs\n# mine\n", seen=theirs.digest, who="CD", reason="both"
    )
    assert read_plan(folder, "one.yaml") == mine
    assert [(each.who, each.reason) for each in plan_versions(folder, "one.yaml")] == [
        ("", "as it was found"),
        ("AB", "a note was missing"),
        ("CD", "both"),
    ]


def test_of_many_who_save_at_once_one_is_taken(folder):
    read = read_plan(folder, "one.yaml")
    taken, refused = [], []

    def save(number):
        try:
            taken.append(
                save_plan(
                    folder, "one.yaml", f"{TEXT}# {number}\n", seen=read.digest, who=str(number), reason="x"
                )
            )
        except SavedMeanwhile:
            refused.append(number)

    threads = [threading.Thread(target=save, args=(k,)) for k in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert (len(taken), len(refused)) == (1, 7)
    assert read_plan(folder, "one.yaml") == taken[0]


def test_a_save_needs_a_reason_and_a_text(folder):
    read = read_plan(folder, "one.yaml")
    for text, reason in ((TEXT + "#\n", " "), ("  \n", "x"), ("a\0b", "x"), ("x" * 500_000, "x")):
        with pytest.raises(BadInput):
            save_plan(folder, "one.yaml", text, seen=read.digest, who="AB", reason=reason)
    assert read_plan(folder, "one.yaml") == read


def test_a_new_plan_takes_no_name_that_is_taken(folder):
    with pytest.raises(SavedMeanwhile):
        save_plan(folder, "one.yaml", "flow: another\nsteps: []\n", seen="", who="AB", reason="new")
    made = save_plan(folder, "two.yaml", "flow: two\r\nsteps: []\r\n", seen="", who="AB", reason="new")
    assert made.text == "flow: two\nsteps: []\n"
    assert [each.name for each in plan_files(folder)] == ["one.yaml", "two.yaml"]


@given(st.lists(st.sampled_from("abcd"), max_size=12), st.lists(st.sampled_from("abcd"), max_size=12))
def test_a_difference_tells_what_went_and_what_came(old, new):
    found = difference("\n".join(old), "\n".join(new), around=99)
    if old == new:
        assert not [each for each in found if each.sign != " "]
        return
    assert [each.text for each in found if each.sign in " -"] == old
    assert [each.text for each in found if each.sign in " +"] == new
