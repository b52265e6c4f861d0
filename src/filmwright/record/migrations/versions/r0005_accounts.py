"""Accounts, sign-ins, paired tablets and tokens of programs."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def _text(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _of_account() -> sa.Column[str]:
    return sa.Column("account", sa.Text, sa.ForeignKey("accounts.name"), nullable=False)


def upgrade() -> None:
    """Add tables whose rows change; every change is a line of the logbook of accounts too."""
    op.create_table(
        "accounts",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("key", sa.Text, nullable=False, unique=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        *_text("role", "password_hash", "pin_hash"),
        sa.Column("active", sa.Boolean, nullable=False),
        *_text("created"),
    )
    op.create_table(
        "sign_ins",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("token_hash", sa.Text, nullable=False, unique=True),
        _of_account(),
        *_text("tablet", "created", "expires", "ended"),
    )
    op.create_index("sign_ins_by_account", "sign_ins", ["account"])
    op.create_table(
        "tablets",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("token_hash", sa.Text, nullable=False, unique=True),
        *_text("name", "paired_by", "paired", "ended"),
    )
    op.create_table(
        "api_tokens",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("token_hash", sa.Text, nullable=False, unique=True),
        *_text("name"),
        _of_account(),
        *_text("scopes", "created", "expires", "ended"),
    )
