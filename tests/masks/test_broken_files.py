"""Files that are broken in any way: words with a file and a remedy, or a drawing, and nothing else."""

import random
from pathlib import Path

import gdstk
import pytest

from filmwright.errors import BadInput
from filmwright.masks import Drawing, read_drawing
from filmwright.masks.records import broken_record


def good(tmp_path: Path, suffix: str, validation: str | None = None) -> bytes:
    """A small drawing with everything in it: a polygon, a line, a text, an array, a turned and scaled cell."""
    unit = gdstk.Cell("unit").add(
        gdstk.rectangle((0, 0), (2, 1), layer=1),
        gdstk.Label("A:G", (0.5, 0.5), layer=60),
        gdstk.Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2)], layer=2),
        gdstk.FlexPath([(0, 0), (10, 0), (10, 5)], 1, layer=3, simple_path=True),
    )
    top = gdstk.Cell("top").add(
        gdstk.Reference(unit, (10, 0), columns=4, rows=3, spacing=(5, 4)),
        gdstk.Reference(unit, (0, 9), rotation=1.0, magnification=2, x_reflection=True),
    )
    library = gdstk.Library("l").add(unit, top)
    path = tmp_path / f"good{suffix}"
    if suffix == ".gds":
        library.write_gds(path)
    else:
        library.write_oas(path, compression_level=0, validation=validation)
    return path.read_bytes()


def mutated(content: bytes, chance: random.Random) -> bytes:
    """A few bytes changed, left out or put in."""
    bad = bytearray(content)
    at = chance.randrange(len(bad))
    match chance.randrange(4):
        case 0:
            bad[at] ^= 1 << chance.randrange(8)
        case 1:
            for _ in range(chance.randrange(1, 4)):
                bad[chance.randrange(len(bad))] = chance.randrange(256)
        case 2:
            del bad[at : at + chance.randrange(1, 30)]
        case _:
            bad[at:at] = chance.randbytes(chance.randrange(1, 20))
    return bytes(bad)


@pytest.mark.property
@pytest.mark.parametrize("suffix", [".gds", ".oas"])
def test_fifty_mutated_files_of_each_kind_are_refused_in_words_or_read(tmp_path: Path, suffix: str) -> None:
    content, chance = good(tmp_path, suffix), random.Random(2)
    path, refused = tmp_path / "bad", 0
    for _ in range(50):
        path.write_bytes(mutated(content, chance))
        try:
            # What still is a drawing by all rules of the format (a corner moved) cannot be told from a good one.
            assert isinstance(read_drawing(path), Drawing)
        except BadInput as bad:
            refused += 1
            assert all(p.file == str(path) and p.got and p.why and p.remedy for p in bad.problems)
    assert refused > 15


@pytest.mark.property
def test_every_change_of_a_file_with_a_check_sum_is_refused(tmp_path: Path) -> None:
    content, chance = good(tmp_path, ".oas", "crc32"), random.Random(3)
    path = tmp_path / "bad.oas"
    for _ in range(100):
        bad = mutated(content, chance)
        if bad == content:
            continue
        path.write_bytes(bad)
        with pytest.raises(BadInput):
            read_drawing(path)


@pytest.mark.analytic
def test_the_place_of_a_broken_record_is_told(tmp_path: Path) -> None:
    content = good(tmp_path, ".gds")
    assert broken_record(content) == ""
    assert broken_record(content + bytes(2048)) == ""  # tapes were filled up to whole blocks
    # The header record is six bytes long; the second record then has a length of three.
    assert broken_record(content[:6] + b"\x00\x03" + content[8:]) == (
        "at byte 6 a record says that it has 3 bytes"
    )
    assert "cut off" in broken_record(content[:-4])
    assert "of type 7" in broken_record(content[:6] + b"\x00\x04\x07\x00" + content[6:])
    path = tmp_path / "bad.gds"
    path.write_bytes(content[:6] + b"\x00\x03" + content[8:])
    with pytest.raises(BadInput, match="at byte 6"):
        read_drawing(path)


@pytest.mark.property
@pytest.mark.parametrize("suffix", [".oas", ".gds"])
def test_cells_that_contain_each_other_below_a_top_cell_are_named(tmp_path: Path, suffix: str) -> None:
    top, one, other = (gdstk.Cell(name) for name in ("top", "one", "other"))
    top.add(gdstk.rectangle((0, 0), (1, 1)), gdstk.Reference(one))
    one.add(gdstk.Reference(other))
    other.add(gdstk.Reference(one))
    library = gdstk.Library("circle").add(top, one, other)
    path = tmp_path / f"circle{suffix}"
    library.write_oas(path) if suffix == ".oas" else library.write_gds(path)
    with pytest.raises(BadInput, match='"one" → "other" → "one"'):
        read_drawing(path)


@pytest.mark.property
def test_an_array_without_end_is_refused_before_it_is_unfolded(tmp_path: Path) -> None:
    unit = gdstk.Cell("unit").add(gdstk.rectangle((0, 0), (1, 1)))
    row = gdstk.Cell("row").add(gdstk.Reference(unit, columns=60_000, rows=60_000, spacing=(2, 2)))
    path = tmp_path / "many.oas"
    gdstk.Library("many").add(unit, row).write_oas(path)
    with pytest.raises(BadInput, match=r"3\.6e\+09 shapes"):
        read_drawing(path)


@pytest.mark.property
def test_a_drawing_wider_than_a_metre_has_a_wrong_unit(tmp_path: Path) -> None:
    library = gdstk.Library("wide", unit=1.0, precision=1e-6)
    library.add(gdstk.Cell("top").add(gdstk.rectangle((0, 0), (5, 5))))
    path = tmp_path / "wide.gds"
    library.write_gds(path)
    with pytest.raises(BadInput, match="check its unit"):
        read_drawing(path)
