"""Where a record is: a file, or the URL of a PostgreSQL database."""

from __future__ import annotations

import os
import re
from pathlib import Path

from filmwright.errors import BadInput, Problem

FILES_VARIABLE = "FILMWRIGHT_FILES"
"""Environment variable that names the folder of kept files of a record in PostgreSQL."""

_FILES_NAME = "filmwright.files"
_OTHER_URL = re.compile(r"^([a-z][a-z0-9+]+):/", re.IGNORECASE)
"""Two letters at least before the colon: one is a drive of Windows."""
_URL = re.compile(r"^(postgres(?:ql)?)(?:\+psycopg)?:/+", re.IGNORECASE)
_PASSWORD = re.compile(r"(?<=://)([^/@:]*):[^@]*@")
_PASSWORD_WORD = re.compile(r"([?&]password=)[^&]*", re.IGNORECASE)


def settle(place: str | Path) -> str | Path:
    """The place as a path or, for PostgreSQL, as a URL that begins with ``postgresql://``.

    A URL that went through ``Path`` has lost a slash; it gets it back.

    Raises
    ------
    BadInput
        When it is the address of another kind of database.
    """
    text = str(place)
    if _URL.match(text):
        return _URL.sub("postgresql://", text)
    if other := _OTHER_URL.match(text):
        raise BadInput(
            Problem(
                what="the record",
                expected='a file, or an address such as "postgresql://name@host/database"',
                got=f'an address that begins with "{other[1]}:"',
                why="records are kept in an SQLite file or in PostgreSQL",
                remedy="name a file, or the PostgreSQL database",
            )
        )
    return Path(place)


def shown(place: str | Path) -> str:
    """The place as it may be printed: without a password."""
    return _PASSWORD_WORD.sub(r"\1…", _PASSWORD.sub(r"\1:…@", str(place)))


def files_folder(place: str | Path) -> Path:
    """The folder of the kept files: beside an SQLite file, else the one that the environment names."""
    if isinstance(place, Path):
        return place.with_name(place.name + ".files")
    return Path(os.environ.get(FILES_VARIABLE) or _FILES_NAME)
