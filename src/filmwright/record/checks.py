"""What every kept thing is checked for: names, times, words, numbers."""

from __future__ import annotations

import hashlib
import json
import math
import re
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from filmwright.errors import Problem, Problems

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
STEP = re.compile(r"[0-9]+(\.[0-9]+)*")
DIGEST = re.compile(r"[0-9a-f]{8,64}")
SHA256 = re.compile("[0-9a-f]{64}")
_CLOCK_SLACK = timedelta(minutes=10)


def digest(content: str | bytes) -> str:
    """SHA-256 of a text (as UTF-8) or of raw bytes, 64 hexadecimal digits."""
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()


def refuse_part(problems: Problems, what: str, expected: str, got: object, why: str, remedy: str) -> None:
    """Note one problem."""
    problems.add(Problem(what=what, expected=expected, got=f'"{got}"', why=why, remedy=remedy))


def check_time(problems: Problems, what: str, text: str) -> datetime | None:
    """The moment that an ISO time with its offset names; None, with a problem, when it names none."""
    try:
        moment = datetime.fromisoformat(text)
    except (TypeError, ValueError):
        moment = None
    if moment is None or moment.utcoffset() is None:
        refuse_part(
            problems, what, 'an ISO time with its offset, such as "2031-05-04T14:02:00+02:00"', text,
            "waits between steps are counted from it, also over a change of the clocks",
            "write date, time and offset",
        )  # fmt: skip
        return None
    return moment


def is_uuid(text: object) -> bool:
    """Whether a text is a UUID."""
    try:
        uuid.UUID(str(text))
    except ValueError:
        return False
    return isinstance(text, str)


def _has_a_code(text: str) -> bool:
    """Whether a text can be written as UTF-8: it has no half of a pair of surrogates."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def check_text(problems: Problems, what: str, text: object) -> None:
    """Judge words that are kept as they are."""
    if not isinstance(text, str) or "\0" in text or not _has_a_code(text):
        refuse_part(
            problems, what, "plain text", repr(text)[:60], "it must read the same on every machine",
            "take out characters that cannot be printed",
        )  # fmt: skip


def check_pattern(problems: Problems, what: str, text: str, pattern: re.Pattern[str], example: str) -> None:
    """Judge a name by its pattern."""
    if not isinstance(text, str) or pattern.fullmatch(text) is None:
        refuse_part(
            problems, what, f'like "{example}"', text, "it is written on labels and in file names",
            f'write it like "{example}"',
        )  # fmt: skip


def finite(problems: Problems, what: str, value: float | None) -> float | None:
    """The value as a plain finite float; a negative zero loses its sign because SQLite keeps none."""
    if value is None:
        return None
    plain = float(value)
    if not math.isfinite(plain):
        refuse_part(
            problems, what, "a finite number", f"{plain:g}", "a value that is not one cannot be used later",
            "leave the value out and say in words what was seen",
        )  # fmt: skip
        return None
    return plain + 0.0


def check_reference(problems: Problems, place: str, about: str, sha256: str, *, file: bool = False) -> None:
    """Judge what an entry is about and the file that it keeps; with ``file`` it must keep one."""
    if about and not is_uuid(about):
        refuse_part(
            problems, f"the entry that an entry of {place} is about", "the id of an entry", about,
            "corrections name what they correct", "take the id from the log",
        )  # fmt: skip
    if sha256 or file:
        check_pattern(problems, f"the SHA-256 of what an entry of {place} keeps", sha256, SHA256, digest(""))


def check_times(problems: Problems, place: str, happened: str, written: str) -> None:
    """Judge when something happened and when it was written down."""
    then = check_time(problems, f"the time at which an entry of {place} happened", happened)
    noted = check_time(problems, f"the time at which an entry of {place} was written", written)
    if then and noted and then > noted + _CLOCK_SLACK:
        refuse_part(
            problems, f"the time at which an entry of {place} happened", f"before it was written ({written})",
            happened, "nothing can be written down before it happens", "check date, time and offset",
        )  # fmt: skip


def _no_constant(text: str) -> float:
    raise ValueError(text)


def is_object(text: str) -> bool:
    """Whether a text is a JSON object of finite numbers."""
    parse: Callable[..., Any] = json.loads
    try:
        return isinstance(parse(text, parse_constant=_no_constant), dict)
    except (TypeError, ValueError, RecursionError):
        return False
