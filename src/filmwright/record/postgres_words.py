"""What PostgreSQL's errors mean for a person, and which of them pass by themselves."""

from __future__ import annotations

from sqlalchemy.exc import DBAPIError

Words = tuple[str, str, str, str]

_AWAY = ("57P01", "57P02", "57P03", "08000", "08001", "08003", "08004", "08006")
_PASSING = ("40001", "40P01")
_STARTING = ("database system is", "Connection refused", "No such file",
             "server closed the connection", "terminating connection", "connection is bad",
             "timeout expired", "the connection is closed", "consuming input failed")  # fmt: skip
_REPEAT = "repeat; what was already kept is kept once"

_BY_STATE: dict[str, Words] = {
    "28P01": ("opened with the right password", "the password was refused",
              "the server lets nobody in without it",
              "check user and password in the URL, PGPASSWORD or the file .pgpass"),
    "28000": ("opened by a user whom the server knows", "the user was refused",
              "the server lets nobody in whom it does not know",
              "check the user in the URL, or have the administrator make the role and allow it in pg_hba.conf"),
    "3D000": ("in a database that exists", "no database of this name", "the tables must live somewhere",
              "make it with: createdb -E UTF8 -T template0 NAME"),
    "25006": ("in a place that can be written", "a read-only server or session",
              "an entry counts only once it is on the disk",
              "name the primary server, not a standby, and check default_transaction_read_only"),
    "42501": ("in a place that can be written", "no right to do that there",
              "an entry counts only once it is on the disk",
              "have the owner grant SELECT and INSERT on the tables and USAGE on the sequences"),
    "53100": ("on a disk that takes it", "the disk of the server is full", "the entry was not kept",
              "make room there, then repeat"),
    "53200": ("on a server with memory left", "the server is out of memory", "the entry was not kept",
              "repeat in a moment"),
    "53300": ("free to write", "too many connections at the server", "nothing was written",
              "repeat in a moment, or raise max_connections"),
    "55P03": ("free to write", "locked by another writer", "two writers at once would lose entries; "
              "nothing was written", "finish or close the other program that has it open, then repeat"),
    "57014": ("able to answer in time", "the server stopped the request",
              "nothing was written", "repeat in a moment; if it stays so, ask who keeps the server busy"),
    "58030": ("on a disk that takes it", "an error of the server's disk", "the entry was not kept",
              "check the disk of the server, then repeat"),
    "XX001": ("an undamaged record", "damaged pages at the server", "what is read from it could be wrong",
              "stop the server, set its data aside unchanged and go on with a backup"),
}  # fmt: skip
_BY_WORDS = (
    ("password authentication failed", "28P01"),
    ("no password supplied", "28P01"),
    ("no pg_hba.conf entry", "28000"),
    ('role "', "28000"),
    ("too many connections", "53300"),
    ("remaining connection slots", "53300"),
    ('database "', "3D000"),
)


def state_of(trouble: DBAPIError) -> str:
    """SQLSTATE of an error; for a refused connection, which carries none, judged by its words."""
    state = str(getattr(trouble.orig, "sqlstate", None) or "")
    words = str(trouble.orig)
    if state or any(each in words for each in _STARTING):
        return state
    if "FATAL" in words or "password" in words:
        return next((state for told, state in _BY_WORDS if told in words), "")
    return ""


def is_away(trouble: DBAPIError) -> bool:
    """Whether the server is restarting or the way to it is interrupted."""
    state = state_of(trouble)
    if state:
        return state in _AWAY
    return bool(trouble.connection_invalidated) or any(each in str(trouble.orig) for each in _STARTING)


def is_passing(trouble: DBAPIError) -> bool:
    """Whether the same once more may well go."""
    return is_away(trouble) or state_of(trouble) in _PASSING


def refusal(trouble: DBAPIError) -> Words | None:
    """What must be there, what was there, why it matters and what to do; None for a mistake of ours."""
    state = state_of(trouble)
    if state in _BY_STATE:
        return _BY_STATE[state]
    said = " ".join(str(trouble.orig).split())[:200]
    if state in _PASSING:
        return ("free to write", said, "nothing was written", _REPEAT)
    if is_away(trouble):
        return ("on a server that answers", said,
                "the server does not run, was restarted, or the way to it was interrupted",
                f"see that it runs; {_REPEAT}")  # fmt: skip
    if not state and type(trouble.orig).__name__ in ("OperationalError", "ConnectionTimeout"):
        return ("on a server that can be reached", said, "nothing can be read or kept without it",
                "check host and port, that the server runs, and the network")  # fmt: skip
    return None
