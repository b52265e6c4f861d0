"""Entries may be about an earlier one, and may keep a file."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add what older entries leave empty."""
    for name in ("about", "sha256"):
        op.add_column("events", sa.Column(name, sa.Text, nullable=False, server_default=""))
