"""The page of a hand-over bundle: what the lot is and where its files lie, readable without the program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from filmwright.outputs.pages import render


@dataclass(frozen=True, kw_only=True)
class BundleEntry:
    """One entry of the log as it is read by people."""

    when: str
    who: str
    wafer: str
    step: str
    what: str


@dataclass(frozen=True, kw_only=True)
class BundleFile:
    """One file of the bundle: where it lies and what it is."""

    path: str
    name: str
    what: str
    sha256: str


@dataclass(frozen=True, kw_only=True)
class BundleLot:
    """One lot of a bundle: the one that is handed over, or one that its wafers came from."""

    name: str
    title: str
    wafers: Sequence[str]
    started: str
    note: str
    head: str
    flow: str
    entries: Sequence[BundleEntry]


@dataclass(frozen=True, kw_only=True)
class BundlePage:
    """What stands on the page."""

    made: str
    version: str
    lots: Sequence[BundleLot]
    files: Sequence[BundleFile]
    report: str
    invented: bool


def bundle_html(page: BundlePage) -> str:
    """The page as HTML: one file with links to its neighbours, no script, nothing from outside."""
    facts: dict[str, Any] = {"page": page}
    return render("bundle.html", facts)
