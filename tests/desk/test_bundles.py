"""A lot handed over: complete, readable without the program, and taken in with the same seals."""

import csv
import io
import json
import shutil
import subprocess
import uuid
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from filmwright import desk
from filmwright.errors import BadInput
from filmwright.record import Event, Store, digest

RUDE = "=HYPERLINK(1) <script>alert(1)</script> \u202e"


def with_more(record: Path) -> str:
    """Add a photo, a new version of the flow and rude words to the lot of a record; its name."""
    with Store.open(record) as store:
        (held,) = store.lots()
        photo, flow = b"\x89PNG not really", (held.flow_text + "\n# changed\n").encode()
        same = {"lot": held.name, "happened": held.started, "written": held.started, "who": "=AB"}
        kept = {"photo": store.keep_blob(photo), "flow": store.keep_blob(flow)}
        new = [
            {"kind": "note", "text": RUDE},
            {"kind": "photo", "name": "../../etc/pass wd.png", "sha256": kept["photo"]},
            {"kind": "flow", "text": "a reason", "sha256": kept["flow"]},
        ]
        store.append([Event(id=str(uuid.uuid4()), **same, **each) for each in new])
    return held.name


@dataclass(frozen=True)
class Small:
    """A lot of a few entries in a record of its own."""

    lot: str
    record: Path


@pytest.fixture
def lot(shipped_thermometer: Path, tmp_path: Path) -> Small:
    """A small lot with a kept table, a photo, a new version of its flow and rude words in it."""
    record = tmp_path / "record.sqlite"
    desk.run(shipped_thermometer / "plan.yaml", wafers=2, record=record)
    name = with_more(record)
    table = tmp_path / "T07.csv"
    table.write_text("VG [V],ID [A]\n0,1e-9\n", "utf-8")
    desk.log(name, "01A", mark="start", who="AB", record=record)
    desk.log(name, curves=[table], wafer="W1", who="AB", record=record)
    return Small(name, record)


@pytest.fixture
def bundle(lot, tmp_path: Path) -> Path:
    """The lot as a folder."""
    desk.record_export(lot.lot, record=lot.record, into=tmp_path / "over", report=False)
    return tmp_path / "over"


@pytest.mark.whole
def test_what_comes_in_is_what_went_out(kept, tmp_path: Path):
    name = with_more(kept.record)
    packed = tmp_path / "over.zip"
    desk.record_export(name, record=kept.record, into=packed, report=False)
    other = tmp_path / "other.sqlite"
    taken = desk.record_import(packed, record=other)
    with Store.open(kept.record) as one, Store.open(other) as two:
        assert two.lots() == one.lots()
        assert two.events(name) == one.events(name)
        assert two.files(name, every=True) == one.files(name, every=True)
        assert two.accepted() == one.accepted()
        assert two.verify(name) == one.verify(name)
        assert taken.heads == {name: one.verify(name).head}
        for event in one.events(name):
            if event.sha256:
                assert two.raw(event.sha256) == one.raw(event.sha256)
    again = desk.record_import(packed, record=other)
    assert again.entries == 0
    twice = tmp_path / "twice.zip"
    desk.record_export(name, record=other, into=twice, report=False)
    with zipfile.ZipFile(packed) as one, zipfile.ZipFile(twice) as two:
        told = [archive.read("record.json") for archive in (one, two)]
    assert told[0] == told[1]


@pytest.mark.reference
@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="sha256sum checks the manifest")
def test_the_manifest_is_read_by_sha256sum(bundle: Path):
    subprocess.run(
        ["sha256sum", "--check", "--strict", "--quiet", "manifest-sha256.txt"], cwd=bundle, check=True
    )
    listed = {
        line.split("  ", 1)[1] for line in (bundle / "manifest-sha256.txt").read_text("utf-8").splitlines()
    }
    there = {path.relative_to(bundle).as_posix() for path in bundle.rglob("*") if path.is_file()}
    assert listed == there - {"manifest-sha256.txt"}


@pytest.mark.property
def test_the_crate_describes_every_file_as_the_specification_asks(bundle: Path):
    # RO-Crate 1.2 (published): descriptor, root dataset with name, description, date, licence; each part an entity of its own.
    graph = {
        each["@id"]: each
        for each in json.loads((bundle / "ro-crate-metadata.json").read_text("utf-8"))["@graph"]
    }
    assert graph["ro-crate-metadata.json"]["about"] == {"@id": "./"}
    assert graph["ro-crate-metadata.json"]["conformsTo"]["@id"].startswith("https://w3id.org/ro/crate/1.")
    root = graph["./"]
    assert root["@type"] == "Dataset"
    assert all(root[what] for what in ("name", "description", "datePublished", "license"))
    referred = [each["@id"] for what in ("hasPart", "author", "mentions") for each in root[what]]
    assert set(referred) <= set(graph)
    for part in root["hasPart"]:
        raw = (bundle / part["@id"]).read_bytes()
        assert graph[part["@id"]]["sha256"] == digest(raw)
        assert graph[part["@id"]]["contentSize"] == str(len(raw))


@pytest.mark.property
def test_tables_and_page_are_harmless_and_complete(lot, bundle: Path):
    with Store.open(lot.record) as store:
        events = store.events(lot.lot)
    rows = list(csv.reader(io.StringIO((bundle / "entries.csv").read_text("utf-8-sig"))))
    assert [row[rows[0].index("id")] for row in rows[1:]] == [event.id for event in events]
    assert not any(cell.startswith(("=", "@", "\t")) for row in rows for cell in row)
    page = (bundle / "index.html").read_text("utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert page.count("<tr>") >= len(events)
    assert "src=" not in page
    assert 'href="http' not in page


@pytest.mark.property
def test_files_stay_inside_the_bundle(bundle: Path):
    for path in bundle.rglob("*"):
        assert path.resolve().is_relative_to(bundle.resolve())
    assert any("pass-wd.png" in path.name for path in (bundle / "files").iterdir())


@pytest.mark.property
@pytest.mark.parametrize(
    ("harm", "told"),
    [
        (lambda at: (at / "entries.csv").write_text("x"), "entries.csv"),
        (lambda at: (at / "index.html").unlink(), "missing"),
        (lambda at: (at / "more.txt").write_text("x"), "not in the manifest"),
        (lambda at: (at / "manifest-sha256.txt").unlink(), "no manifest-sha256.txt"),
        (lambda at: (at / "manifest-sha256.txt").write_text("x"), "line 1"),
    ],
)
def test_a_damaged_bundle_is_refused_and_nothing_is_written(bundle: Path, tmp_path: Path, harm, told: str):
    harm(bundle)
    with pytest.raises(BadInput, match=told):
        desk.record_import(bundle, record=tmp_path / "new.sqlite")
    assert not (tmp_path / "new.sqlite").exists()


def _resealed(bundle: Path, change) -> None:
    """Change what ``record.json`` says and write a manifest that fits it."""
    path = bundle / "record.json"
    told = json.loads(path.read_text("utf-8"))
    change(told)
    path.write_text(json.dumps(told), "utf-8")
    lines = [line.split("  ", 1) for line in (bundle / "manifest-sha256.txt").read_text("utf-8").splitlines()]
    text = "".join(f"{digest((bundle / name).read_bytes())}  {name}\n" for _, name in lines)
    (bundle / "manifest-sha256.txt").write_text(text, "utf-8")


@pytest.mark.property
@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda it: it["lots"][0]["entries"][2].update(text="another story"), "seal"),
        (lambda it: it["lots"][0]["entries"].pop(), "seal"),
        (lambda it: it["lots"][0]["lot"].update(note="another"), "seal"),
        (lambda it: it.update(form=99), "form 1"),
        (lambda it: it["lots"][0].pop("entries"), "entries"),
        (lambda it: it["lots"][0]["entries"][0].update(colour="red"), "colour"),
        (lambda it: it["lots"][0]["files"][0].update(sha256="0" * 64), "every file"),
    ],
)
def test_a_forged_bundle_is_refused_and_nothing_is_written(bundle: Path, tmp_path: Path, change, told: str):
    _resealed(bundle, change)
    record = tmp_path / "new.sqlite"
    with pytest.raises(BadInput, match=told):
        desk.record_import(bundle, record=record)
    if record.exists():
        with Store.open(record) as store:
            assert store.lots() == ()


@pytest.mark.property
def test_a_lot_that_went_on_differently_is_never_overwritten(lot, bundle: Path):
    with Store.open(lot.record) as store:
        (held,) = store.lots()
        store.append(
            [
                Event(
                    id=str(uuid.uuid4()),
                    lot=held.name,
                    kind="note",
                    text="went on",
                    happened=held.started,
                    written=held.started,
                )
            ]
        )
        before = store.events(held.name)
    with pytest.raises(BadInput, match="other entries"):
        desk.record_import(bundle, record=lot.record)
    with Store.open(lot.record) as store:
        assert store.events(lot.lot) == before


@pytest.mark.property
@pytest.mark.parametrize("name", ["no-such.zip", "text.zip"])
def test_what_is_no_bundle_is_told(tmp_path: Path, name: str):
    (tmp_path / "text.zip").write_text("not an archive")
    with pytest.raises(BadInput, match=r"a folder or a \.zip"):
        desk.record_import(tmp_path / name, record=tmp_path / "new.sqlite")


@pytest.mark.property
def test_a_folder_that_holds_something_is_left_alone(lot, bundle: Path):
    with pytest.raises(BadInput, match="holds something"):
        desk.record_export(lot.lot, record=lot.record, into=bundle, report=False)


@pytest.mark.whole
def test_the_report_goes_along(lot, tmp_path: Path):
    answer = desk.record_export(lot.lot, record=lot.record, into=tmp_path / "over")
    assert answer.open == tmp_path / "over" / "index.html"
    assert lot.lot in (tmp_path / "over" / "report.html").read_text("utf-8")
    assert 'href="report.html"' in (tmp_path / "over" / "index.html").read_text("utf-8")


@pytest.mark.property
def test_an_archive_with_torn_bytes_is_told(tmp_path: Path):
    torn = tmp_path / "torn.zip"
    with zipfile.ZipFile(torn, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("record.json", "many words that pack well " * 200)
    raw = bytearray(torn.read_bytes())
    start = raw.index(b"record.json") + len(b"record.json")
    raw[start : start + 12] = b"\xff" * 12
    torn.write_bytes(raw)
    with pytest.raises(BadInput, match=r"a folder or a \.zip"):
        desk.record_import(torn, record=tmp_path / "new.sqlite")
