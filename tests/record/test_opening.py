"""Files that cannot be opened as a record, and how an older record is brought up to date."""

import os
import sqlite3
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pytest

from filmwright.errors import BadInput
from filmwright.record import Store, digest
from filmwright.record.chain import lot_digest
from filmwright.record.opening import APPLICATION_ID, SCHEMAS


@pytest.mark.analytic
def test_a_missing_record_is_refused_unless_one_is_to_be_made(path):
    with pytest.raises(BadInput, match="no file"):
        Store.open(path)
    assert not path.exists()
    with pytest.raises(BadInput, match="no folder"):
        Store.open(path.parent / "nowhere" / "run.sqlite", create=True)
    with pytest.raises(BadInput, match="a folder"):
        Store.open(path.parent, create=True)


@pytest.mark.analytic
@pytest.mark.parametrize("place", ["mysql://lab@host/bench", Path("mysql://lab@host/bench"), "HTTP://host/x"])
def test_an_address_of_another_kind_of_database_is_not_taken_for_a_file(place):
    with pytest.raises(BadInput, match="postgresql://name@host/database"):
        Store.open(place, create=True)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("content", "got"),
    [
        (b"", "an empty file"),
        (os.urandom(4096), "a file of another kind"),
        (b"SQLite format 3\0" + b"\xff" * 4000, "database"),
        (b"flow: a plan\n", "a file of another kind"),
    ],
)
def test_junk_is_refused_and_left_as_it_was(path, content, got):
    path.write_bytes(content)
    for create in (False, True) if content else (False,):
        with pytest.raises(BadInput, match=got):
            Store.open(path, create=create)
        assert path.read_bytes() == content


@pytest.mark.analytic
def test_an_empty_file_becomes_a_record_when_one_is_to_be_made(path):
    path.touch()
    with Store.open(path, create=True) as store:
        assert store.lots() == ()


@pytest.mark.analytic
def test_a_database_of_another_program_is_refused(path):
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE lots (name)")
    with pytest.raises(BadInput, match="another program"):
        Store.open(path, create=True)


@pytest.mark.analytic
def test_a_truncated_record_is_refused(path, file_store, make_event):
    file_store.append([make_event() for _ in range(50)])
    file_store.close()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 8192 * 4096])
    with pytest.raises(BadInput, match="undamaged"), Store.open(path) as opened:
        opened.events("K7M-4H7")


@pytest.mark.analytic
def test_a_newer_record_is_refused(path, file_store):
    file_store.close()
    with closing(sqlite3.connect(path)) as other:
        other.execute("UPDATE alembic_version SET version_num = '0999'")
        other.commit()
    with pytest.raises(BadInput, match="newer version"):
        Store.open(path)


@pytest.mark.analytic
def test_a_record_that_another_process_holds_is_refused_in_time(path, file_store, make_event, make_lot):
    child = os.fork()
    if child == 0:
        _hold(path)
    try:
        flag = path.parent / "held"
        while not flag.exists():
            time.sleep(0.01)
        with Store.open(path, patience=0.3) as patient:
            assert patient.lots() == (make_lot(),), "reading goes on beside a writer"
            started = time.monotonic()
            with pytest.raises(BadInput, match=rf"locked by .*process {child}") as refused:
                patient.append([make_event()])
            assert time.monotonic() - started < 3
            assert "finish or close" in refused.value.problems[0].remedy
            assert patient.events("K7M-4H7") == ()
    finally:
        os.kill(child, 9)
        os.waitpid(child, 0)
    assert file_store.append([make_event()]) == 1


def _hold(path):
    database = sqlite3.connect(path, isolation_level=None)
    database.execute("BEGIN IMMEDIATE")
    (path.parent / "held").touch()
    time.sleep(60)
    os._exit(0)


@pytest.mark.analytic
def test_a_record_in_a_place_that_cannot_be_written_is_refused(make_event, make_lot):
    if os.geteuid() != 0:
        pytest.skip("needs the right to become another user for a moment")
    folder = Path(tempfile.mkdtemp())
    place = folder / "run.sqlite"
    with Store.open(place, create=True) as store:
        store.start_lot(make_lot())
    folder.chmod(0o555)
    place.chmod(0o444)
    os.seteuid(65534)
    try:
        with pytest.raises(BadInput, match="can be written"), Store.open(place) as store:
            store.append([make_event()])
        with pytest.raises(BadInput, match="can be written"):
            Store.open(folder / "new.sqlite", create=True)
        assert sorted(each.name for each in folder.iterdir()) == ["run.sqlite"]
    finally:
        os.seteuid(0)
        folder.chmod(0o755)
        for each in folder.iterdir():
            each.unlink()
        folder.rmdir()


def _at_revision(path, revision):
    from alembic import command
    from alembic.config import Config
    from sqlalchemy import create_engine

    import filmwright.record

    config = Config()
    config.set_main_option("script_location", str(Path(filmwright.record.__file__).parent / "migrations"))
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()
    return config


@pytest.mark.analytic
def test_a_record_of_the_revision_before_is_brought_up_to_date(path, make_lot, make_event):
    _at_revision(path, "0001")
    lot = make_lot()
    with closing(sqlite3.connect(path)) as other:
        other.execute(
            "INSERT INTO lots VALUES (1, ?, ?, ?, ?, ?, '', '1', '0.1.0', '7', '[\"A\", \"B\"]', ?, 1, ?, ?)",
            (lot.name, lot.flow_text, lot.lab_text, lot.flow_digest, lot.lab_digest, lot.started, lot.note,
             lot_digest(lot)),
        )  # fmt: skip
        other.commit()
        assert other.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    with Store.open(path) as store:
        assert store.lots() == (lot,)
        assert store.append([make_event()]) == 1
        assert store.verify(lot.name).sound
        assert store.files(lot.name) == ()
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT version_num FROM alembic_version").fetchone() == (SCHEMAS[-1],)


@pytest.mark.reference
def test_the_revisions_give_the_tables_that_the_code_uses(path):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext
    from alembic.script import ScriptDirectory
    from sqlalchemy import create_engine

    from filmwright.record.tables import metadata

    script = ScriptDirectory.from_config(_at_revision(path, "head"))
    assert [each.revision for each in script.walk_revisions()] == list(reversed(SCHEMAS))
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
        assert connection.exec_driver_sql("PRAGMA application_id").scalar() == APPLICATION_ID
    engine.dispose()


@pytest.mark.analytic
def test_a_revision_that_fails_leaves_nothing_half_made(path, monkeypatch):
    import alembic.op

    made = alembic.op.create_table

    def fail(name, *columns, **options):
        if name == "files":
            raise RuntimeError("power cut")
        return made(name, *columns, **options)

    monkeypatch.setattr(alembic.op, "create_table", fail)
    with pytest.raises(RuntimeError, match="power cut"):
        Store.open(path, create=True)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    monkeypatch.undo()
    with Store.open(path, create=True) as store:
        assert store.lots() == ()


@pytest.mark.analytic
def test_digest_is_sha256():
    # FIPS 180-4 example "abc" (published).
    assert digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
