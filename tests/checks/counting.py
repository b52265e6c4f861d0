"""The page docs/check-values.md: how many check values are reproduced, by topic and kind, and what is left out and why."""

from __future__ import annotations

import importlib
from collections import Counter
from collections.abc import Iterable

from comparing import ELSEWHERE, LEFT, OURS, ROOT, Entry, disagreement, entries

PAGE = ROOT / "docs" / "check-values.md"
HEAD = """<!-- Made by tools/check_values.py; run it after a change. -->
# Check values

Numbers and statements of the literature, collected outside this project before it was written, each with its source, kind and tolerance.
*Reproduced*: a law of ours, given the inputs of the entry, or a fact on file answers within the tolerance. *By a test*: a test named below holds
it. *Left out*: nothing of ours answers it; the reason stands below. Recomputed: the number follows from its inputs by the named equation.
"""


def _table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    lines = [
        "| " + " | ".join(str(cell).replace("|", "\\|") for cell in row) + " |"
        for row in (list(head), *map(list, rows))
    ]
    lines.insert(1, "|" + "---|" * lines[0].count(" | ") + "---|")
    return "\n".join(lines) + "\n"


def _how(entry: Entry) -> str:
    if entry["id"] in OURS:
        return "differs" if disagreement(entry) else "reproduced"
    return "by a test" if entry["id"] in ELSEWHERE else "left out"


def _counts(told: list[tuple[Entry, str]], key: str) -> str:
    columns = ["reproduced", "by a test", "left out"]
    if any(how == "differs" for _, how in told):
        columns.append("differs")
    count = Counter((entry[key], how) for entry, how in told)
    groups = list(dict.fromkeys(entry[key] for entry, _ in told))
    rows = [
        [group, *(count[group, how] for how in columns), sum(count[group, how] for how in columns)]
        for group in groups
    ]
    total = [sum(row[j] for row in rows) for j in range(1, len(columns) + 2)]
    return _table([key, *columns, "all"], [*rows, ["**all**", *total]])


def page() -> str:
    """The page as text."""
    for room in ("of_facts", "of_films", "of_light", "of_devices"):
        importlib.import_module(room)
    told = [(entry, _how(entry)) for entry in entries()]
    left = [[entry["id"], entry["quantity"], LEFT[entry["id"]]] for entry, how in told if how == "left out"]
    held = [
        [entry["id"], entry["quantity"], f"`{ELSEWHERE[entry['id']][1]}` in `{ELSEWHERE[entry['id']][0]}`"]
        for entry, how in told
        if how == "by a test"
    ]
    return "\n".join(
        [
            HEAD,
            "## By kind\n\n" + _counts(told, "kind"),
            "## By topic\n\n" + _counts(told, "topic"),
            "## Held by a test of its own\n\n" + _table(["check value", "quantity", "test"], held),
            "## Left out\n\n" + _table(["check value", "quantity", "why"], left),
        ]
    )
