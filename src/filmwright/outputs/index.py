"""The first page of an output folder: what was made, a picture, and every file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from filmwright.outputs.pages import render

if TYPE_CHECKING:
    from filmwright.review import Finding


@dataclass(frozen=True, kw_only=True)
class IndexLink:
    """A file: ``href`` relative to the page, what it is, one sentence on it."""

    href: str
    title: str
    what: str = ""


@dataclass(frozen=True, kw_only=True)
class IndexFlow:
    """One flow of the folder.

    Attributes
    ----------
    title, because, digest : str
    picture : str
        SVG of the finished section.
    plan : str
        SVG of the die.
    stops, warns, notes : int
    links : tuple of IndexLink
    invented : bool
    """

    title: str
    links: tuple[IndexLink, ...]
    because: str = ""
    digest: str = ""
    picture: str = ""
    plan: str = ""
    stops: int = 0
    warns: int = 0
    notes: int = 0
    invented: bool = False


def index_html(title: str, intro: str, flows: Sequence[IndexFlow], *, commands: Sequence[str] = ()) -> str:
    """The page.

    Parameters
    ----------
    title, intro : str
    flows : sequence of IndexFlow
        The main one first.
    commands : sequence of str
        What to type next.
    """
    return render("index.html", {"title": title, "intro": intro, "flows": flows, "commands": commands})


def findings_html(findings: Sequence[Finding], title: str, *, invented: bool = False) -> str:
    """A page with all findings of a flow, ranked as given."""
    return render("findings_page.html", {"findings_list": findings, "title": title, "invented": invented})


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings for a terminal or a text file: the same words as on the pages."""
    blocks = []
    for f in findings:
        place = " ".join(
            part for part in (f"step {f.step}" if f.step else "", f"line {f.line}" if f.line else "") if part
        )
        rows = [
            f"{f.severity.upper()}  {f.what}" + (f"  ({place})" if place else ""),
            f"      expected {f.expected}, got {f.got}",
            f"      why      {f.why}",
            f"      remedy   {f.remedy}",
            f"      rule     {', '.join((f.rule, *f.also))}; {f.source}",
        ]
        rows[4:4] = [f"      follows  {each}" for each in f.follows]
        if f.acknowledged:
            rows.append(f"      accepted: {f.acknowledged}")
        if f.refused:
            rows.append(f"      not accepted: {f.refused}")
        blocks.append("\n".join(rows))
    counts = {s: sum(f.severity == s for f in findings) for s in ("stop", "warn", "note")}
    summary = ", ".join(f"{n} {s}{'s' if n != 1 else ''}" for s, n in counts.items())
    return "\n\n".join([*blocks, summary]) + "\n"
