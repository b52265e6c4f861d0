"""Lots and their append-only chain of entries."""

import sqlalchemy as sa
from alembic import op

from filmwright.record.migrations.guards import append_only, in_order, is_sqlite, make_refusal

revision = "0001"
down_revision = None

_APPLICATION_ID = 0x66777263


def _text(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def upgrade() -> None:
    """Make the tables of a new record."""
    if is_sqlite():
        op.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
    make_refusal()
    op.create_table(
        "lots",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        *_text("flow_text", "lab_text", "flow_digest", "lab_digest", "drawing_digest", "knowledge_version"),
        *_text("code_version", "seed", "wafers", "started"),
        sa.Column("invented", sa.Boolean, nullable=False),
        *_text("note", "digest"),
    )
    op.create_table(
        "events",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("lot", sa.Text, sa.ForeignKey("lots.name"), nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        *_text("wafer", "step", "kind", "name"),
        sa.Column("value", sa.Float),
        *_text("unit", "text", "happened", "written", "who"),
        sa.Column("invented", sa.Boolean, nullable=False),
        *_text("previous", "digest"),
        sa.UniqueConstraint("lot", "position"),
    )
    append_only("lots", "name")
    append_only("events", "id")
    in_order("events", "lot")
    if not is_sqlite():
        op.execute(f"COMMENT ON TABLE lots IS '{_APPLICATION_ID:x}'")
