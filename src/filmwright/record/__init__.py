"""Keeps lots, what happened to them, what a person accepted and the raw files; append-only, never computes.

The database is loaded only when a :class:`Store` is opened.
"""

from filmwright.record.accounts import ROLES, Account, AccountChange, ApiToken, Role, SignIn, Tablet
from filmwright.record.chain import seal
from filmwright.record.checks import digest
from filmwright.record.conflict import Conflict
from filmwright.record.endings import Ending, Going
from filmwright.record.kept_files import KeptFile
from filmwright.record.logbook import LOGBOOK_KINDS, LogbookEntry, LogbookKind
from filmwright.record.names import is_lot_name, label_of, lot_name, piece_name, read_label, read_lot_name
from filmwright.record.objects import (
    EVENT_KINDS,
    AcceptedCalibration,
    ChainCheck,
    Event,
    EventKind,
    Lot,
    MeasurementFile,
)
from filmwright.record.store import Store

__all__ = [
    "EVENT_KINDS",
    "LOGBOOK_KINDS",
    "AcceptedCalibration",
    "Account",
    "AccountChange",
    "ApiToken",
    "ChainCheck",
    "Conflict",
    "Ending",
    "Event",
    "EventKind",
    "Going",
    "KeptFile",
    "LogbookEntry",
    "LogbookKind",
    "Lot",
    "MeasurementFile",
    "ROLES",
    "Role",
    "SignIn",
    "Store",
    "Tablet",
    "digest",
    "is_lot_name",
    "label_of",
    "lot_name",
    "piece_name",
    "read_label",
    "read_lot_name",
    "seal",
]
