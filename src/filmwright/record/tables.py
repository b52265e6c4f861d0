"""The tables as they are now; ``migrations`` says how they came about."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from filmwright.record.opening import APPLICATION_ID

metadata = MetaData()

lots = Table(
    "lots",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("flow_text", Text, nullable=False),
    Column("lab_text", Text, nullable=False),
    Column("flow_digest", Text, nullable=False),
    Column("lab_digest", Text, nullable=False),
    Column("drawing_digest", Text, nullable=False),
    Column("knowledge_version", Text, nullable=False),
    Column("code_version", Text, nullable=False),
    Column("seed", Text, nullable=False),
    Column("wafers", Text, nullable=False),
    Column("started", Text, nullable=False),
    Column("invented", Boolean, nullable=False),
    Column("note", Text, nullable=False),
    Column("digest", Text, nullable=False),
    comment=f"{APPLICATION_ID:x}",
)

events = Table(
    "events",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("lot", Text, ForeignKey("lots.name"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("wafer", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("value", Float),
    Column("unit", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("happened", Text, nullable=False),
    Column("written", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("invented", Boolean, nullable=False),
    Column("previous", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("about", Text, nullable=False, server_default=""),
    Column("sha256", Text, nullable=False, server_default=""),
    UniqueConstraint("lot", "position"),
)

calibrations = Table(
    "calibrations",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("digest", Text, nullable=False, unique=True),
    Column("lot", Text, ForeignKey("lots.name"), nullable=False),
    Column("calibration", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("accepted", Text, nullable=False),
)

kept_files = Table(
    "kept_files",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("sha256", Text, nullable=False, unique=True),
    Column("media", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("size", BigInteger, nullable=False),
    Column("kept", Text, nullable=False),
)
"""One row per kept file; its bytes lie in the folder beside the record, or in ``raw_files``."""

raw_files = Table(
    "raw_files",
    metadata,
    Column("sha256", Text, primary_key=True, nullable=False),
    Column("raw", LargeBinary, nullable=False),
)
"""Bytes that older versions kept inside; nothing is added."""

logbooks = Table(
    "logbooks",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("book", Text, nullable=False),
    Column("position", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("value", Float),
    Column("unit", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("happened", Text, nullable=False),
    Column("written", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("invented", Boolean, nullable=False),
    Column("previous", Text, nullable=False),
    Column("digest", Text, nullable=False),
    UniqueConstraint("book", "position"),
)

files = Table(
    "files",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("digest", Text, nullable=False, unique=True),
    Column("lot", Text, ForeignKey("lots.name"), nullable=False),
    Column("sha256", Text, ForeignKey("kept_files.sha256"), nullable=False),
    Column("name", Text, nullable=False),
    Column("wafer", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("width", Float),
    Column("length", Float),
    Column("parameters", Text, nullable=False),
    Column("kept", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("invented", Boolean, nullable=False),
)
Index("files_by_lot", files.c.lot)

endings = Table(
    "endings",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("lot", Text, ForeignKey("lots.name"), nullable=False),
    Column("head", Integer, nullable=False),
    Column("rules", Text, nullable=False),
    Column("told", Text, nullable=False),
    UniqueConstraint("lot", "head", "rules"),
)
"""What was worked out of the entries of finished lots; it can be worked out again at any time."""

accounts = Table(
    "accounts",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("key", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("pin_hash", Text, nullable=False),
    Column("active", Boolean, nullable=False),
    Column("created", Text, nullable=False),
)

sign_ins = Table(
    "sign_ins",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("account", Text, ForeignKey("accounts.name"), nullable=False),
    Column("tablet", Text, nullable=False),
    Column("created", Text, nullable=False),
    Column("expires", Text, nullable=False),
    Column("ended", Text, nullable=False),
)
Index("sign_ins_by_account", sign_ins.c.account)

tablets = Table(
    "tablets",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("paired_by", Text, nullable=False),
    Column("paired", Text, nullable=False),
    Column("ended", Text, nullable=False),
)

api_tokens = Table(
    "api_tokens",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("account", Text, ForeignKey("accounts.name"), nullable=False),
    Column("scopes", Text, nullable=False),
    Column("created", Text, nullable=False),
    Column("expires", Text, nullable=False),
    Column("ended", Text, nullable=False),
)
