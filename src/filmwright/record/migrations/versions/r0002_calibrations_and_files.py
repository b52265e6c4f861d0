"""Calibrations that a person accepted, and raw measurement files."""

import sqlalchemy as sa
from alembic import op

from filmwright.record.migrations.guards import append_only

revision = "0002"
down_revision = "0001"


def _text(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def upgrade() -> None:
    """Add the tables to a record of lots and entries."""
    op.create_table(
        "calibrations",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("digest", sa.Text, nullable=False, unique=True),
        sa.Column("lot", sa.Text, sa.ForeignKey("lots.name"), nullable=False),
        *_text("calibration", "who", "accepted"),
    )
    op.create_table(
        "raw_files",
        sa.Column("sha256", sa.Text, primary_key=True, nullable=False),
        sa.Column("raw", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "files",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("digest", sa.Text, nullable=False, unique=True),
        sa.Column("lot", sa.Text, sa.ForeignKey("lots.name"), nullable=False),
        sa.Column("sha256", sa.Text, sa.ForeignKey("raw_files.sha256"), nullable=False),
        *_text("name", "wafer", "device"),
        sa.Column("width", sa.Float),
        sa.Column("length", sa.Float),
        *_text("parameters", "kept", "who"),
        sa.Column("invented", sa.Boolean, nullable=False),
    )
    op.create_index("files_by_lot", "files", ["lot"])
    append_only("calibrations", "digest")
    append_only("raw_files", "sha256")
    append_only("files", "digest")
