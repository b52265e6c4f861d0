"""Documentation cannot lie: pages are made from the code, and what the README says to type is typed here."""

import importlib.util
import re
import shlex
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent

VERBS = [
    "new",
    "review",
    "settings",
    "why",
    "devices",
    "look",
    "draw",
    "sheet",
    "run",
    "log",
    "extract",
    "thickness",
    "compare",
    "next",
    "report",
    "demo",
    "lab check",
]


def made_pages() -> dict[str, str]:
    """The reference pages as they would be written now."""
    spec = importlib.util.spec_from_file_location("reference_pages", ROOT / "tools" / "reference_pages.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.pages()


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """Made once."""
    return made_pages()


@pytest.mark.golden
def test_the_committed_pages_are_what_the_code_says(pages: dict[str, str]):
    folder = ROOT / "docs" / "reference"
    committed = {
        path.relative_to(folder).as_posix(): path.read_text("utf-8") for path in folder.rglob("*.md")
    }
    told = "run: make docs"
    assert sorted(pages.keys() - committed.keys()) == [], f"missing; {told}"
    assert sorted(committed.keys() - pages.keys()) == [], f"left over; {told}"
    assert sorted(name for name, text in pages.items() if committed[name] != text) == [], f"stale; {told}"


@pytest.mark.property
def test_every_rule_material_and_chemistry_has_an_entry(pages: dict[str, str]):
    from filmwright.knowledge import book
    from filmwright.review import RULES

    facts = book()
    for names, page in (
        (list(facts.methods), "methods.md"),
        (VERBS, "commands.md"),
    ):
        assert not [name for name in names if f"## {name}\n" not in pages[page]]
    for things, folder in (
        (facts.materials, "materials"),
        (facts.media, "chemistries"),
        (facts.resists, "resists"),
        (facts.hazards, "hazards"),
        (facts.substances, "substances"),
        ([rule.name for rule in RULES], "rules"),
    ):
        titles = {_title(text) for name, text in pages.items() if name.startswith(f"{folder}/")}
        assert titles == set(things)
        assert all(f"[{name}]({folder}/" in pages[f"{folder}.md"] for name in things)


def _title(page: str) -> str:
    return next(line for line in page.splitlines() if line.startswith("# ")).removeprefix("# ")


@pytest.mark.property
def test_every_value_of_the_book_stands_on_a_page_with_its_kind(pages: dict[str, str]):
    from filmwright.knowledge import book, limits
    from filmwright.review import LAB_RULES

    facts = book()
    for folder, things in (("materials", facts.materials), ("resists", facts.resists)):
        written = sum(len(thing.values) for thing in things.values())
        tables = [_first_table(text) for name, text in pages.items() if name.startswith(f"{folder}/")]
        assert sum(len(table) for table in tables) == written
        assert all(_cells(line) == 6 for table in tables for line in table)
    rates = sum(len(m.rates) for m in facts.media.values())
    shown = [text for name, text in pages.items() if name.startswith("chemistries/")]
    assert sum(_cells(line) == 9 for text in shown for line in text.splitlines()) == rates + sum(
        map(_heads, shown)
    )
    assert all(f"| `{name}` |" in pages["rules.md"] for name in limits())
    assert all(f"## {rule.name}\n" in pages["lab-rules.md"] for rule in LAB_RULES)


@pytest.mark.property
def test_what_has_no_number_says_so_on_its_page(pages: dict[str, str]):
    from filmwright.knowledge import book

    for material in book().materials.values():
        page = next(
            text
            for name, text in pages.items()
            if name.startswith("materials/") and _title(text) == material.name
        )
        for name, nothing in material.missing.items():
            assert f"| {name} | {nothing.says} | {nothing.why} |" in page


def _first_table(page: str) -> list[str]:
    """Rows below the head of the first table."""
    rows = page[page.index("\n|---|") :].split("\n")[2:]
    end = next((i for i, line in enumerate(rows) if not line.startswith("|")), len(rows))
    return rows[:end]


def _cells(line: str) -> int:
    return line.replace("\\|", "").count("|") - 1 if line.startswith("|") else 0


def _heads(page: str) -> int:
    """Head and rule of every table."""
    return 2 * page.count("\n|---|")


@pytest.mark.property
def test_an_unknown_pair_is_never_shown_as_harmless(pages: dict[str, str]):
    from filmwright.knowledge import book

    facts = book()
    assert "never to be taken for safe" in pages["matrix.md"]
    known = sum(
        (rate.verdict == "does not attack")
        and material in facts.materials
        and material not in medium.dissolves
        for medium in facts.media.values()
        for material, rate in medium.rates.items()
    )
    assert pages["matrix.md"].count("| no ") == known


@pytest.mark.whole
def test_what_the_readme_says_to_type_works(filmwright):
    text = (ROOT / "README.md").read_text("utf-8")
    blocks = re.findall(r"```console\n(.*?)```", text, flags=re.DOTALL)
    typed = [
        line
        for block in blocks
        for line in block.splitlines()
        if line.startswith("filmwright ") and "# not run" not in line
    ]
    assert len(typed) >= 5
    for line in typed:
        done = filmwright(*shlex.split(line)[1:])
        assert done.code == 0, (line, done.out, done.err)


@pytest.mark.property
def test_links_between_the_pages_lead_somewhere():
    for page in [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *(ROOT / "docs").rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text("utf-8")):
            assert (page.parent / target).exists(), (page.name, target)
