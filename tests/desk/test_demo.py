"""The demo: one folder that holds the whole job, invented throughout and saying so."""

import re
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.errors import BadInput


@pytest.mark.whole
def test_every_link_of_every_page_leads_somewhere(made: Path):
    pages = sorted(made.rglob("*.html"))
    assert len(pages) >= 9
    for page in pages:
        links = re.findall(r'(?:href|src)="([^"#]+)(?:#[^"]*)?"', page.read_text("utf-8"))
        for link in links:
            assert link.startswith("data:") or (page.parent / link).exists(), f"{page}: {link}"


@pytest.mark.whole
def test_every_page_says_that_it_is_invented_and_none_asks_the_network(made: Path):
    for page in made.rglob("*.html"):
        text = page.read_text("utf-8")
        assert "invented" in text, page
        assert not re.search(r"(?:src|href|url\()\s*=?\s*[\"'(]?https?:", text), page


@pytest.mark.whole
def test_the_invented_lot_has_its_seed_and_its_chain(made: Path):
    from filmwright.desk.demonstration import SEED
    from filmwright.record import Store, lot_name

    with Store.open(made / "humidity-switch" / "record.sqlite") as store:
        (lot,) = store.lots()
        assert lot.name == lot_name(SEED)
        assert lot.invented
        assert all(event.invented for event in store.events(lot.name))
        assert all(file.invented for file in store.files(lot.name))
        assert store.verify(lot.name).sound


@pytest.mark.whole
def test_a_folder_of_somebody_else_is_left_alone(tmp_path: Path):
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    with pytest.raises(BadInput, match="its content would be lost"):
        desk.demo(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
