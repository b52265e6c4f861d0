"""Documentation cannot lie: pages are made from the code, and what the README says to type is typed here."""

import importlib.util
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent

VERBS = [
    "new",
    "review",
    "settings",
    "draw",
    "sheet",
    "run",
    "log",
    "extract",
    "compare",
    "next",
    "report",
    "demo",
]
PAGES = ["commands.md", "plan.md", "rules.md", "materials.md", "chemistries.md", "matrix.md", "methods.md"]


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
@pytest.mark.parametrize("name", PAGES)
def test_the_committed_page_is_what_the_code_says(pages: dict[str, str], name: str):
    assert set(pages) == set(PAGES)
    assert (ROOT / "docs" / "reference" / name).read_text("utf-8") == pages[name], "run: make docs"


@pytest.mark.property
def test_every_rule_material_and_chemistry_has_an_entry(pages: dict[str, str]):
    from filmwright.knowledge import book
    from filmwright.review import RULES

    facts = book()
    for names, page in (
        ([rule.name for rule in RULES], "rules.md"),
        (list(facts.materials), "materials.md"),
        (list(facts.media), "chemistries.md"),
        (list(facts.methods), "methods.md"),
        ([f"hazard: {key}" for key in facts.hazards], "methods.md"),
        ([f"resist: {name}" for name in facts.resists], "materials.md"),
        (VERBS, "commands.md"),
    ):
        assert not [name for name in names if f"## {name}\n" not in pages[page]]


@pytest.mark.property
def test_every_value_of_the_book_stands_on_a_page_with_its_kind(pages: dict[str, str]):
    from filmwright.knowledge import book, limits

    facts = book()
    written = sum(len(m.values) for m in (*facts.materials.values(), *facts.resists.values()))
    assert sum(_cells(line) == 6 for line in pages["materials.md"].splitlines()) == written + _heads(
        pages["materials.md"]
    )
    rates = sum(len(m.rates) for m in facts.media.values())
    assert sum(_cells(line) == 7 for line in pages["chemistries.md"].splitlines()) == rates + _heads(
        pages["chemistries.md"]
    )
    assert all(f"| `{name}` |" in pages["rules.md"] for name in limits())


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
def test_what_the_readme_says_to_type_works(tmp_path: Path):
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
        words = shlex.split(line)[1:]
        command = [sys.executable, "-c", "from filmwright.cli import main; main()", *words]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=180, check=False)
        assert done.returncode == 0, (line, done.stdout, done.stderr)


@pytest.mark.property
def test_links_between_the_pages_lead_somewhere():
    for page in [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *(ROOT / "docs").glob("*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text("utf-8")):
            assert (page.parent / target).exists(), (page.name, target)
