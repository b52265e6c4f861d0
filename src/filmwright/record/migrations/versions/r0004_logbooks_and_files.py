"""Logbooks, and kept files in a folder beside the record."""

import sqlalchemy as sa
from alembic import op

from filmwright.record.migrations.guards import append_only, in_order, is_sqlite

revision = "0004"
down_revision = "0003"

_FILES = "number, digest, lot, sha256, name, wafer, device, width, length, parameters, kept, who, invented"


def _text(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def upgrade() -> None:
    """Add logbooks; a measurement file now refers to the list of kept files, not to bytes inside."""
    op.create_table(
        "logbooks",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("book", sa.Text, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        *_text("kind", "name"),
        sa.Column("value", sa.Float),
        *_text("unit", "text", "happened", "written", "who", "about", "sha256"),
        sa.Column("invented", sa.Boolean, nullable=False),
        *_text("previous", "digest"),
        sa.UniqueConstraint("book", "position"),
    )
    append_only("logbooks", "id")
    in_order("logbooks", "book")
    op.create_table(
        "kept_files",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("sha256", sa.Text, nullable=False, unique=True),
        *_text("media", "name"),
        sa.Column("size", sa.BigInteger, nullable=False),
        *_text("kept"),
    )
    op.execute(
        "INSERT INTO kept_files (sha256, media, name, size, kept) "
        "SELECT raw_files.sha256, '', MIN(files.name), LENGTH(raw_files.raw), MIN(files.kept) "
        "FROM raw_files JOIN files ON files.sha256 = raw_files.sha256 "
        "GROUP BY raw_files.sha256 ORDER BY MIN(files.number)"
    )
    append_only("kept_files", "sha256")
    if is_sqlite():
        _refer_anew()
    else:
        op.drop_constraint("files_sha256_fkey", "files", type_="foreignkey")
        op.create_foreign_key("files_sha256_fkey", "files", "kept_files", ["sha256"], ["sha256"])


def _refer_anew() -> None:
    """Make the table of measurement files again, with its rows: SQLite cannot change a reference."""
    op.create_table(
        "files_anew",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("digest", sa.Text, nullable=False, unique=True),
        sa.Column("lot", sa.Text, sa.ForeignKey("lots.name"), nullable=False),
        sa.Column("sha256", sa.Text, sa.ForeignKey("kept_files.sha256"), nullable=False),
        *_text("name", "wafer", "device"),
        sa.Column("width", sa.Float),
        sa.Column("length", sa.Float),
        *_text("parameters", "kept", "who"),
        sa.Column("invented", sa.Boolean, nullable=False),
    )
    op.execute(f"INSERT INTO files_anew ({_FILES}) SELECT {_FILES} FROM files ORDER BY number")
    op.drop_table("files")
    op.rename_table("files_anew", "files")
    op.create_index("files_by_lot", "files", ["lot"])
    append_only("files", "digest")
