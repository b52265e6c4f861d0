"""Files that people send: what is taken, under which name, and how it goes out again."""

import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.desk.bench.uploads import MOST_BYTES, read_table, safe_name
from filmwright.errors import BadInput


def packed(**files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as into:
        for name, text in files.items():
            into.writestr(name.replace("__", "/").replace("_DOT_", "."), text)
    return out.getvalue()


WORKBOOK = {"[Content_Types].xml": "<Types/>", "xl__workbook.xml": "<workbook/>"}


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("T07.csv", "T07.csv"),
        ("../../etc/passwd", "passwd"),
        ("..\\..\\autoexec.bat", "autoexec.bat"),
        ("C:\\curves\\T07 (2).csv", "T07 (2).csv"),
        ("/abs/olute.txt", "olute.txt"),
        ("..", "file"),
        ("", "file"),
        ("a\r\nSet-Cookie: x=1.csv", "a__Set-Cookie_ x=1.csv"),
        ('x"; filename="y.html', "x__ filename=_y.html"),
        ("aux.csv", "file aux.csv"),
        ("-rf.csv", "rf.csv"),
        ("Messung µ 5 Å.csv", "Messung µ 5 Å.csv"),
        ("%2e%2e%2fx", "_2e_2e_2fx"),
        ("nul", "file nul"),
    ],
)
def test_a_name_keeps_its_last_part_and_nothing_that_is_more_than_a_name(sent, kept):
    assert safe_name(sent) == kept


@pytest.mark.property
@given(st.text(max_size=300))
def test_every_name_is_one_part_of_a_path_and_safe_twice_over(sent):
    name = safe_name(sent)
    assert name
    assert name not in {".", ".."}
    assert not set(name) & set('/\\<>:"|?*;\r\n\0%')
    assert name.isprintable()
    assert len(name) <= 130
    assert safe_name(name) == name
    assert not name.startswith((".", "-", " "))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("raw", "media"),
    [
        (b"VG,ID\r\n0,1e-12\r\n", "text/plain"),
        ("VG\tID\n0\t1,2·10⁻⁹ µA\n".encode(), "text/plain"),
        ("VG,ID\n".encode("utf-16"), "text/plain"),
        ("Strom in µA\n".encode("latin-1"), "text/plain"),
        (packed(**WORKBOOK), "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        (
            packed(mimetype="application/vnd.oasis.opendocument.spreadsheet", content_DOT_xml="<x/>"),
            "application/vnd.oasis.opendocument.spreadsheet",
        ),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "application/vnd.ms-excel"),
    ],
)
def test_tables_are_known_by_their_bytes_whatever_they_are_called(raw, media):
    found = read_table("../holiday.jpg", raw)
    assert (found.media, found.name, found.raw) == (media, "holiday.jpg", raw)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"MZ\x90\x00\x03\x00\x00\x00",
        b"\x7fELF\x02\x01\x01\x00",
        b"<!DOCTYPE html><script>alert(1)</script>",
        b"\xef\xbb\xbf <svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        "<html>".encode("utf-16"),
        b"%PDF-1.7\x00",
        b"GIF89a\x01\x00",
        packed(evil_DOT_exe="MZ"),
        packed(**WORKBOOK, **{"..__..__x": "y"}),
        b"PK\x03\x04 not a zip",
        packed(**WORKBOOK, bomb="0" * 20_000_000),
        b"\x01\x02\x03\x04" * 100,
    ],
)
def test_what_is_no_table_is_refused_whatever_it_is_called(raw):
    with pytest.raises(BadInput) as refused:
        read_table("T07.csv", raw)
    assert refused.value.problems[0].remedy


@pytest.mark.analytic
def test_a_table_that_is_too_large_is_refused():
    with pytest.raises(BadInput, match="at most 32 MB"):
        read_table("T07.csv", b"0" * (MOST_BYTES + 1))


@pytest.mark.property
@given(st.binary(max_size=400))
def test_any_bytes_are_taken_as_a_table_or_refused_with_words(raw):
    try:
        found = read_table("x.csv", raw)
    except BadInput as refused:
        assert refused.problems[0].remedy
    else:
        assert found.raw == raw
