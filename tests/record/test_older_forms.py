"""Records of every older form are brought up to date with their rows, and their digests still hold."""

from dataclasses import asdict

import pytest
from sqlalchemy import MetaData, create_engine, insert, select

from filmwright.errors import BadInput
from filmwright.record import MeasurementFile, Store, digest
from filmwright.record.backend import revise
from filmwright.record.chain import canonical, event_digest, lot_digest
from filmwright.record.opening import SCHEMAS

NOON = "2031-05-04T12:00:00+02:00"
RAW = bytes(range(256)) * 3


def _engine(place):
    if str(place).startswith("postgresql:"):
        return create_engine(place.replace("postgresql:", "postgresql+psycopg:"))
    return create_engine(f"sqlite:///{place}")


def _rows(revision, lot, entries, file):
    """The rows that a version of this form would have written, with the digests that it computed."""
    import json

    head = lot_digest(lot)
    yield "lots", {**asdict(lot), "wafers": json.dumps(lot.wafers), "seed": str(lot.seed), "digest": head}
    for position, each in enumerate(entries, start=1):
        sealed = event_digest(head, each)
        row = {**asdict(each), "position": position, "previous": head, "digest": sealed}
        if revision < "0003":
            del row["about"], row["sha256"]
        yield "events", row
        head = sealed
    if revision >= "0002":
        row = asdict(file)
        place = "raw_files" if revision < "0004" else "kept_files"
        more = (
            {"raw": RAW}
            if revision < "0004"
            else {"media": "", "name": "a.csv", "size": len(RAW), "kept": NOON}
        )
        yield place, {"sha256": file.sha256, **more}
        yield "files", {**row, "digest": digest(canonical({**row, "kept": ""}))}
        content = {"calibration": {"of": "deposition rate", "value": 1e-10}, "lot": lot.name, "who": "invented",
                   "when": NOON}  # fmt: skip
        yield "calibrations", {"digest": digest(canonical(content)), "lot": lot.name, "who": "invented",
                               "accepted": NOON, "calibration": canonical(content["calibration"])}  # fmt: skip


def _made(place, revision, rows):
    engine = _engine(place)
    with engine.begin() as connection:
        revise(connection, revision)
        known = MetaData()
        known.reflect(connection)
        for table, row in rows:
            connection.execute(insert(known.tables[table]), row)
    engine.dispose()


@pytest.mark.analytic
@pytest.mark.parametrize("revision", SCHEMAS[:-1])
def test_a_record_of_every_older_form_is_brought_up_to_date_with_its_digests(
    place, revision, make_lot, make_event
):
    lot = make_lot()
    entries = [make_event(), make_event(kind="note", value=None, name="", text="purple — Å")]
    if revision >= "0003":
        entries.append(make_event(value=46.0, about=entries[0].id))
    file = MeasurementFile(lot=lot.name, name="a.csv", sha256=digest(RAW), kept=NOON, wafer="A", width=1e-4)
    _made(place, revision, list(_rows(revision, lot, entries, file)))
    with Store.open(place) as store:
        assert store.lots() == (lot,)
        assert store.events(lot.name) == tuple(entries)
        assert store.verify(lot.name).sound
        assert store.verify_rest() == ()
        if revision >= "0002":
            assert store.files(lot.name) == (file,)
            assert [(each.sha256, each.name, each.size) for each in store.kept()] == [
                (file.sha256, "a.csv", 768)
            ]
        if "0002" <= revision < "0004":
            assert store.raw(file.sha256) == RAW, "what older versions kept inside stays readable"
        store.keep_file(MeasurementFile(lot=lot.name, name="b.csv", sha256=digest(b"b"), kept=NOON), b"b")
        assert store.append([make_event(about=entries[0].id)]) == 1
        assert store.verify(lot.name).entries == len(entries) + 1
    engine = _engine(place)
    with engine.connect() as connection:
        known = MetaData()
        known.reflect(connection)
        assert connection.scalar(select(known.tables["alembic_version"].c.version_num)) == SCHEMAS[-1]
        for table in ("lots", "events", "files", "kept_files"):
            with pytest.raises(Exception, match="append-only"):
                connection.execute(known.tables[table].delete())
            connection.rollback()
    engine.dispose()


@pytest.mark.analytic
def test_an_old_record_with_a_changed_entry_stays_unsound(place, make_lot, make_event):
    lot, entries = make_lot(), [make_event(), make_event()]
    rows = list(
        _rows("0003", lot, entries, MeasurementFile(lot=lot.name, name="a", sha256=digest(RAW), kept=NOON))
    )
    rows[1][1]["value"] = 46.0
    _made(place, "0003", rows)
    with Store.open(place) as store:
        checked = store.verify(lot.name)
        assert (checked.sound, checked.first_bad) == (False, 1)
        with pytest.raises(BadInput, match="one that is in the record"):
            store.raw(digest(b"never kept"))
