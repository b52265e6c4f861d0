"""Comma-separated text for spreadsheets: the one place where it is written, so that no text in it is run as a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Any

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters at which spreadsheets see a formula, after the list of OWASP's page on CSV injection."""

_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?([eE][+-]?[0-9]+)?")


def harmless(cell: Any) -> Any:
    """A cell as it may stand in a table: text that would be run gets an apostrophe before it, a number stays a number.

    Parameters
    ----------
    cell : Any
        Only text is ever changed, and not when all of it is one number such as ``-0.5``.
    """
    if isinstance(cell, str) and cell.lstrip(" ").startswith(_FORMULA) and not _NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


def csv_text(lines: Iterable[Sequence[Any]], *, end: str = "\r\n") -> str:
    """Lines of cells as comma-separated text.

    Parameters
    ----------
    lines : iterable of sequences
        The heads first.
    end : str
        Of a line; RFC 4180 has carriage return and line feed.
    """
    text = io.StringIO()
    csv.writer(text, lineterminator=end).writerows([harmless(cell) for cell in line] for line in lines)
    return text.getvalue()
