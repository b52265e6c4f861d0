"""What is unusual among people and tablets of the last day, told to administrators: who is trying, who keeps more than others do."""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterable, Mapping

from filmwright.record import LogbookEntry

USUAL: Mapping[str, int] = {"entries": 2000, "files": 300, "too fast": 20, "not allowed": 20}
"""How often a day each thing may happen to one person or address without being told."""
WRONG, SIGNED_IN = 10, 40
"""Wrong tries against one account or from one address, and sign-ins of one account, that are told [a day]."""

_WORDS = {
    "entries": "wrote {times} entries",
    "files": "kept {times} files",
    "too fast": "asked too fast {times} times and was told to wait",
    "not allowed": "asked {times} times for what the role does not allow",
}
_FROM = re.compile(r"wrong [^,]+(?:, asked again)?, from (?P<address>.+)")


def unusual(
    lines: Iterable[LogbookEntry], counts: Mapping[tuple[str, str], int], now: datetime.datetime
) -> tuple[str, ...]:
    """Sentences about the last 24 hours; none on an ordinary day.

    Parameters
    ----------
    lines : iterable of LogbookEntry
        Of the log of accounts.
    counts : mapping of (who, what) to int
        What the server counted since it was started, at most of a day; ``what`` as in ``USUAL``.
    now : datetime
        With offset.
    """
    day = [each for each in lines if _age(each, now) <= datetime.timedelta(hours=24)]
    told = []
    for who, times in _many(Counter(each.who for each in day if each.name == "refused"), WRONG):
        told.append(f"{times} wrong passwords or PINs for {who}")
    for address, times in _many(Counter(_address(each) for each in day if each.name == "refused"), WRONG):
        if address:
            told.append(f"{times} wrong passwords or PINs from the address {address}")
    for who, times in _many(Counter(each.who for each in day if each.name == "signed in"), SIGNED_IN):
        told.append(f"{who} signed in {times} times")
    told += [f"{each.text}, by {each.who}" for each in day if _is_grave(each)]
    for (who, what), times in sorted(counts.items()):
        if what in USUAL and times > USUAL[what]:
            told.append(f"{who or 'somebody'} {_WORDS[what].format(times=times)}")
    return tuple(told)


def _age(line: LogbookEntry, now: datetime.datetime) -> datetime.timedelta:
    return now - datetime.datetime.fromisoformat(line.happened)


def _many(counted: Counter[str], limit: int) -> list[tuple[str, int]]:
    return [(what, times) for what, times in counted.most_common() if times >= limit]


def _address(line: LogbookEntry) -> str:
    read = _FROM.fullmatch(line.text)
    return read["address"] if read else ""


def _is_grave(line: LogbookEntry) -> bool:
    """What is rare and opens or closes much: a new administrator, a PIN that was guessed at until it was gone."""
    text = line.text
    return (line.name == "changed" and text.endswith("role administrator")) or (
        line.name == "PIN" and "taken away after" in text
    )
