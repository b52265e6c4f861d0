"""What was found at the ends of lots, so that finished ones need not be read again."""

import sqlalchemy as sa
from alembic import op

from filmwright.record.migrations.guards import is_sqlite

revision = "0006"
down_revision = "0005"

_ENDED = "(SELECT told FROM endings WHERE lot = NEW.lot ORDER BY head DESC, told DESC LIMIT 1) <> ''"
_BEFORE = "(SELECT MAX(head) FROM endings WHERE lot = NEW.lot) < NEW.position"
_GOES_ON = "INSERT INTO endings (lot, head, rules, told) VALUES (NEW.lot, NEW.position, '', '');"


def upgrade() -> None:
    """Add a table of what programs worked out; an entry after an ending adds that the lot goes on."""
    op.create_table(
        "endings",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("lot", sa.Text, sa.ForeignKey("lots.name"), nullable=False),
        sa.Column("head", sa.Integer, nullable=False),
        sa.Column("rules", sa.Text, nullable=False),
        sa.Column("told", sa.Text, nullable=False),
        sa.UniqueConstraint("lot", "head", "rules"),
    )
    if is_sqlite():
        op.execute(
            f"CREATE TRIGGER events_go_on AFTER INSERT ON events WHEN {_ENDED} AND {_BEFORE} BEGIN {_GOES_ON} END"
        )
        return
    op.execute(
        "CREATE FUNCTION events_go_on() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {_ENDED} AND {_BEFORE} THEN {_GOES_ON} END IF; RETURN NULL; END $$"
    )
    op.execute(
        "CREATE TRIGGER events_go_on AFTER INSERT ON events FOR EACH ROW EXECUTE FUNCTION events_go_on()"
    )
