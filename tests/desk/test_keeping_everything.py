"""A record with an entry of every kind, photos, logbooks and people goes to another database, into a backup and into a bundle unchanged."""

import csv
import io
import uuid
import zipfile
from dataclasses import fields

import pytest

from filmwright.desk import (
    record_backup,
    record_copy,
    record_export,
    record_import,
    record_restore,
    record_verify,
)
from filmwright.knowledge import Calibration
from filmwright.record import (
    AcceptedCalibration,
    Account,
    AccountChange,
    ApiToken,
    Event,
    LogbookEntry,
    Lot,
    MeasurementFile,
    SignIn,
    Store,
    Tablet,
    digest,
)
from filmwright.record.logbook import LOGBOOK_KINDS
from filmwright.record.objects import EVENT_KINDS

pytestmark = pytest.mark.whole

NOON = "2031-05-04T12:00:00+02:00"
LOT, OTHER = "K7M-4H7", "NMJ-9JF"
HASH = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aGFzaGhhc2hoYXNo"
FLOW = "flow: One film\ninvented: yes\nwafer: {body: silicon, diameter: 100 mm}\nsteps:\n  - clean: solvent clean\n"
LAB = "lab: invented for tests\n"
RUDE = '=Å <script>"\u202e=1+1\u2028 \U0001f9ea'
"""Letters that a database, a table or a page could take for more than letters."""
NAMES = {"hold": "go", "place": "location", "cleave": "A1", "leave": OTHER, "enter": LOT}
BOOKS = {"account": "accounts", "access": "accounts", "setting": "site", "bath": "bath:rinse"}
WORDS = {"state": "up", "bath": "fresh"}


def _id():
    return str(uuid.uuid4())


def _events(photo, flow):
    """An entry of every kind that there is; a new kind comes along by itself."""
    ids = {kind: _id() for kind in EVENT_KINDS}
    found = []
    for kind in EVENT_KINDS:
        found.append(
            Event(
                id=ids[kind], lot=OTHER if kind == "enter" else LOT, kind=kind, name=NAMES.get(kind, f"name {RUDE}"),
                step="" if kind in {"leave", "enter", "flow"} else "1.2", wafer="A" if kind in {"cleave", "leave", "enter"} else "",
                value=0.1 + 0.2 if kind in {"set", "seen", "measured", "timer"} else None, unit="nm", text=RUDE,
                about={"enter": ids["leave"], "withdraw": ids["note"]}.get(kind, ""),
                sha256={"photo": photo, "flow": flow}.get(kind, ""), happened=NOON, written=NOON, who=RUDE, invented=True,
            )
        )  # fmt: skip
    corrected = {each.name: getattr(found[1], each.name) for each in fields(Event)} | {
        "id": _id(),
        "about": ids["set"],
    }
    order = [*(each for each in found if each.kind != "enter"), Event(**corrected)]
    return order, [each for each in found if each.kind == "enter"]


def _fill(place):
    with Store.open(place, create=True) as store:
        for name, wafers in ((LOT, ("A", "B")), (OTHER, ("C",))):
            store.start_lot(
                Lot(name=name, flow_text=FLOW, flow_digest=digest(FLOW), lab_text=LAB, lab_digest=digest(LAB),
                    knowledge_version="1", code_version="0.1.0", wafers=wafers, started=NOON, invented=True, note=RUDE, seed=2**70)
            )  # fmt: skip
        photo = store.keep_blob(bytes(range(256)) * 40, "image/png", RUDE)
        own, other = _events(
            photo, store.keep_blob(f"{FLOW}# new\n".encode(), "application/yaml", "plan.yaml")
        )
        store.append(own)
        store.append(other)
        store.enter(
            LogbookEntry(id=_id(), book=BOOKS.get(kind, "tool:evaporator"), kind=kind, name=WORDS.get(kind, "rate"), value=1e-10,
                         unit="ang/s", text=RUDE, who=RUDE, sha256=photo, happened=NOON, written=NOON, invented=True)
            for kind in LOGBOOK_KINDS
        )  # fmt: skip
        store.keep_file(
            MeasurementFile(lot=LOT, name="t.csv", sha256=digest(b"1,2"), kept=NOON, width=1e-4, device="T07", wafer="A",
                            parameters='{"threshold_voltage": {"value": 0.3}}', who=RUDE), b"1,2",
        )  # fmt: skip
        store.accept(AcceptedCalibration(lot=LOT, who="invented", when=NOON, calibration=Calibration(
            of="deposition rate", tool="evaporator", value=1e-10, std=2e-12, unit="ang/s", date="2031-05-04",
            material="titanium", kind="fitted", evidence="invented")))  # fmt: skip
        _people(store)
    return place


def _people(store):
    for name, role in (("M. Sample", "administrator"), ("N. Sample", "operator")):
        store.add_account(
            Account(name=name, role=role, created=NOON, password_hash=HASH, pin_hash=HASH), by="M. Sample"
        )
    store.change_account("N. Sample", AccountChange(role="reader"), by="M. Sample", when=NOON)
    store.pair_tablet(
        Tablet(token_hash=digest("tablet"), name="bench", paired_by="M. Sample", paired=NOON), by="M. Sample"
    )
    for number, tablet in enumerate(("", digest("tablet"))):
        store.add_sign_in(
            SignIn(
                token_hash=digest(f"sign-in {number}"),
                account="N. Sample",
                created=NOON,
                expires=NOON,
                tablet=tablet,
            )
        )
    store.add_api_token(
        ApiToken(token_hash=digest("token"), name="logger", account="N. Sample", scopes=("read", "log"), created=NOON,
                 expires=NOON), by="N. Sample",
    )  # fmt: skip


def _content(place):
    """All that a record can be asked for."""
    with Store.open(place) as store:
        lots = [each.name for each in store.lots()]
        return {
            "lots": store.lots(),
            "entries": [store.events(each) for each in lots],
            "chains": [store.verify(each) for each in lots],
            "books": {each: store.logbook(each) for each in store.books()},
            "ends": [store.verify_book(each) for each in store.books()],
            "files": [store.files(each, every=True) for each in lots],
            "kept": [(each, store.raw(each.sha256)) for each in store.kept()],
            "calibrations": store.accepted(),
            "people": store.accounts(),
            "sign-ins": store.sign_ins(),
            "tablets": store.tablets(),
            "tokens": store.api_tokens(),
        }


@pytest.fixture
def place(tmp_path):
    return _fill(tmp_path / "run.sqlite")


def test_there_is_one_of_everything(place):
    content = _content(place)
    assert {each.kind for events in content["entries"] for each in events} == set(EVENT_KINDS)
    assert {each.kind for lines in content["books"].values() for each in lines} == set(LOGBOOK_KINDS)
    assert all(content.values()), "nothing is left out of the comparison"
    assert record_verify(place).problems == ()


def test_everything_goes_to_postgresql_and_back(place, postgres_place, tmp_path):
    there = record_copy(postgres_place, place)
    back = record_copy(str(tmp_path / "back.sqlite"), postgres_place)
    assert there.chains == back.chains == record_verify(place).chains
    assert _content(place) == _content(postgres_place) == _content(tmp_path / "back.sqlite")


@pytest.mark.parametrize("database", ["sqlite", "postgres"])
def test_everything_comes_back_from_a_backup(place, database, tmp_path, request):
    if database == "postgres":
        place = _fill(request.getfixturevalue("postgres_place"))
    record_backup(tmp_path / "saved", place)
    back = record_restore(tmp_path / "saved", tmp_path / "back.sqlite")
    assert back.chains == record_verify(place).chains
    assert _content(tmp_path / "back.sqlite") == _content(place)


def test_a_lot_with_everything_is_handed_over_with_the_lot_that_its_wafer_came_from(place, tmp_path):
    record_export(OTHER, record=place, into=tmp_path / "over.zip", report=False)
    with zipfile.ZipFile(tmp_path / "over.zip") as bundle:
        pages = [bundle.read(each).decode() for each in bundle.namelist() if each.endswith(".html")]
        tables = [
            bundle.read(each).decode("utf-8-sig") for each in bundle.namelist() if each.endswith(".csv")
        ]
    assert pages
    assert all("<script" not in each and "&lt;script" in each for each in pages)
    cells = [cell for each in tables for row in csv.reader(io.StringIO(each)) for cell in row]
    assert not any(cell.startswith(("=", "@", "+", "\t")) for cell in cells)
    taken = record_import(tmp_path / "over.zip", record=tmp_path / "other.sqlite")
    with Store.open(place) as one, Store.open(tmp_path / "other.sqlite") as two:
        assert taken.heads == {each: one.verify(each).head for each in (OTHER, LOT)}
        for lot in (LOT, OTHER):
            assert two.lot(lot) == one.lot(lot)
            assert two.events(lot) == one.events(lot)
            assert two.verify(lot) == one.verify(lot)
            assert two.files(lot, every=True) == one.files(lot, every=True)
            for sha256 in {each.sha256 for each in (*one.events(lot), *one.files(lot)) if each.sha256}:
                assert two.raw(sha256) == one.raw(sha256)
        assert two.accepted() == one.accepted()
    assert record_verify(tmp_path / "other.sqlite").problems == ()
