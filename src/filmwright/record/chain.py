"""The chain of digests over the entries of a lot: each entry seals all before it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from filmwright.record.checks import digest
from filmwright.record.objects import ChainCheck, Event, Lot


def canonical(fields: Mapping[str, Any]) -> str:
    """JSON with sorted keys and no blanks: the same fields give the same text on every machine."""
    return json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def lot_digest(lot: Lot) -> str:
    """Digest of a lot as it was started; the first link of its chain."""
    return digest(canonical(asdict(lot)))


_LATER = ("about", "sha256")
"""Fields that came after the first entries were sealed: empty, they are no part of the seal."""


def event_digest(previous: str, event: Event) -> str:
    """Digest of an entry and of everything before it.

    Parameters
    ----------
    previous : str
        Digest of the entry before, or of the lot.
    event : Event
    """
    told = vars(event)
    return digest(
        previous + canonical({what: value for what, value in told.items() if value or what not in _LATER})
    )


def seal(lot: Lot, events: Iterable[Event]) -> str:
    """Digest of the last of a lot's entries, or of the lot when there is none: what its chain must end in.

    Parameters
    ----------
    lot : Lot
    events : iterable of Event
        All of them, in the order of writing.
    """
    head = lot_digest(lot)
    for event in events:
        head = event_digest(head, event)
    return head


def check_chain(lot: Lot, kept_digest: str, rows: Iterable[tuple[int, Event, str, str]]) -> ChainCheck:
    """Walk the chain and name the first link that does not fit.

    Parameters
    ----------
    lot : Lot
    kept_digest : str
        The digest that was kept with the lot.
    rows : iterable of (position, event, previous digest, digest)
        In the order of their positions.
    """
    head = lot_digest(lot)
    if head != kept_digest:
        return ChainCheck(lot=lot.name, entries=0, head=head, sound=False, first_bad=0,
                          why="the lot itself was changed after it was started")  # fmt: skip
    entries = 0
    for position, event, previous, kept in rows:
        entries += 1
        why = ""
        if position != entries:
            why = f"entry {entries} is missing"
        elif previous != head:
            why = f"entry {entries} does not follow the one before it"
        elif event_digest(head, event) != kept:
            why = f"entry {entries} was changed after it was written"
        if why:
            return ChainCheck(
                lot=lot.name, entries=entries, head=head, sound=False, first_bad=entries, why=why
            )
        head = kept
    return ChainCheck(lot=lot.name, entries=entries, head=head, sound=True)
