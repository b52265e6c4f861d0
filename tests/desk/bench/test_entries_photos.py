"""A photo is known by its bytes and keeps no place, time or camera; which way is up stays."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ExifTags, Image

from filmwright.desk.bench.photos import MOST_BYTES, read_photo
from filmwright.errors import BadInput

SECRET = b"51.4778 north"


def picture(kind: str, *, turned: int = 0, progressive: bool = False) -> bytes:
    """A small picture with a position, a comment and a camera in its file."""
    image = Image.linear_gradient("L").resize((64, 48)).convert("RGB")
    exif = Image.Exif()
    exif[ExifTags.Base.Model] = "a camera"
    if turned:
        exif[ExifTags.Base.Orientation] = turned
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 28.0, 40.0)
    exif[ExifTags.Base.ImageDescription] = SECRET.decode()
    buffer = io.BytesIO()
    more = {"comment": SECRET, "progressive": progressive} if kind == "JPEG" else {}
    image.save(buffer, kind, exif=exif, **more)
    return buffer.getvalue()


@pytest.mark.reference
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("progressive", [False, True])
def test_the_picture_stays_and_its_remarks_go(kind: str, progressive: bool) -> None:
    """An image library reads the same pixels before and after, and no remark afterwards."""
    raw = picture(kind, progressive=progressive)
    assert SECRET in raw
    photo = read_photo(raw)
    assert photo.media == f"image/{kind.lower()}"
    assert SECRET not in photo.raw
    assert b"a camera" not in photo.raw
    with Image.open(io.BytesIO(raw)) as before, Image.open(io.BytesIO(photo.raw)) as after:
        assert not after.getexif()
        assert before.tobytes() == after.tobytes()


@pytest.mark.reference
def test_a_picture_taken_sideways_is_still_known_to_be() -> None:
    with Image.open(io.BytesIO(read_photo(picture("JPEG", turned=6)).raw)) as after:
        assert dict(after.getexif()) == {ExifTags.Base.Orientation: 6}


@pytest.mark.reference
def test_what_hangs_behind_the_picture_is_cut_off() -> None:
    """Some cameras put a second picture with remarks of its own behind the first."""
    raw = picture("JPEG")
    assert read_photo(raw + raw).raw == read_photo(raw).raw


@pytest.mark.analytic
@pytest.mark.parametrize(
    "raw",
    [b"", b"<svg onload=alert(1)>", b"GIF89a", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\nabc", b"RIFF\x04\0\0\0WEBPVP8X",
     b"%PDF-1.7", picture("PNG")[:-20], picture("JPEG")[:-40], b"\xff" * (MOST_BYTES + 1)],
)  # fmt: skip
def test_what_is_no_whole_picture_is_refused(raw: bytes) -> None:
    with pytest.raises(BadInput):
        read_photo(raw)


@pytest.mark.property
@given(place=st.integers(0, 400), byte=st.integers(0, 255), kind=st.sampled_from(["JPEG", "PNG", "WEBP"]))
def test_a_damaged_file_is_taken_or_refused_never_a_fault(place: int, byte: int, kind: str) -> None:
    raw = bytearray(picture(kind))
    raw[place % len(raw)] = byte
    try:
        read_photo(bytes(raw))
    except BadInput as refused:
        assert refused.problems
