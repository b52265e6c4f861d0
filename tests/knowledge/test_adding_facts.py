"""The page on adding a fact is followed to the letter."""

import importlib.util
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from filmwright.knowledge import problems, read_book, shipped

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = (ROOT / "docs" / "adding-facts.md").read_text("utf-8")
BLOCKS = re.findall(r"```toml\n# (\S+?)(?:, below (\[.*\]))?\n(.*?)```", PAGE, flags=re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped facts with what the page adds."""
    copy = Path(shutil.copytree(Path(shipped.__file__).parent / "data", tmp_path / "facts"))
    for file, below, text in BLOCKS:
        path = copy / file
        before = path.read_text("utf-8")
        after = before.replace(f"{below}\n", f"{below}\n{text}") if below else before + text
        assert after != before, (file, below)
        path.write_text(after, "utf-8")
    return copy


def _fact_pages():
    spec = importlib.util.spec_from_file_location("fact_pages", ROOT / "tools" / "fact_pages.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.property
def test_following_the_page_adds_a_material_without_a_complaint(folder: Path):
    assert len(BLOCKS) == 2
    book = read_book(folder)
    assert [str(problem) for problem in problems(book)] == []
    cobalt = book.material("Co")
    assert cobalt.name == "cobalt"
    assert cobalt.values["density"].source.kind == "published, read in a transcription"
    assert book.medium("dilute HCl").rate("cobalt").verdict == "attacks"
    assert book.medium("aqua regia").rate("cobalt").verdict == "unknown"


@pytest.mark.property
def test_every_line_of_the_example_answers_a_question(folder: Path):
    path = folder / "materials" / "metals.toml"
    block = BLOCKS[0][2]
    start, end = block.index("[cobalt.values]"), block.index("[cobalt.vapour]")
    asked = {line.split(" = ")[0].strip("'") for line in block[start:end].splitlines()[1:] if line}
    path.write_text(path.read_text("utf-8").replace(block, block[:start]), "utf-8")
    told = {problem.what for problem in problems(read_book(folder))}
    lost = {"vapour pressure", "sputtering coefficients"}
    assert told == {f'the {name} of "cobalt"' for name in asked | lost}


@pytest.mark.property
def test_the_slip_that_the_page_shows_is_told_in_its_words(folder: Path):
    path = folder / "materials" / "metals.toml"
    path.write_text(path.read_text("utf-8").replace("density = '8.9 g/cm³", "density = '89 g/cm³"), "utf-8")
    done = subprocess.run(
        [sys.executable, ROOT / "tools" / "check_facts.py", folder],
        capture_output=True,
        text=True,
        check=False,
    )
    quoted = " ".join(line.removeprefix("> ") for line in PAGE.splitlines() if line.startswith("> "))
    assert quoted in done.stdout
    assert "metals.toml:" in done.stdout
    assert done.returncode == 2


@pytest.mark.property
def test_the_shipped_facts_pass_the_check_that_the_page_names():
    assert "tools/check_facts.py" in PAGE
    done = subprocess.run(
        [sys.executable, ROOT / "tools" / "check_facts.py"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout.strip()[-len("nothing wrong") :]) == (0, "nothing wrong")


@pytest.mark.property
def test_the_new_material_gets_its_page(folder: Path, monkeypatch: pytest.MonkeyPatch):
    pages = _fact_pages()
    book = read_book(folder)
    monkeypatch.setattr(pages, "optical_choices", lambda _: ())
    monkeypatch.setattr(pages, "optically_unknown", lambda _: "no optical constants are on file")
    page = pages.material_page(book, book.material("cobalt"))
    for words in (
        "# cobalt",
        "| density | 8.9 g/cm³ |",
        "## Vapour pressure",
        "| stress | not known | not looked up |",
    ):
        assert words in page
    assert "[cobalt](materials/cobalt.md)" in pages.matrix(book)


@pytest.mark.property
def test_the_files_that_the_page_names_exist():
    for name in re.findall(r"`((?:media/|materials/)?\w+(?:\.toml|/))`", PAGE):
        assert (Path(shipped.__file__).parent / "data" / name).exists(), name


@pytest.mark.property
def test_the_clash_that_the_page_speaks_of_is_refused(folder: Path):
    path = folder / "materials" / "metals.toml"
    path.write_text(
        path.read_text("utf-8").replace("[cobalt", "[tin").replace("symbol = 'Co'", "symbol = 'Sn'"), "utf-8"
    )
    with pytest.raises(ValueError, match="names both titanium nitride and tin"):
        read_book(folder)
