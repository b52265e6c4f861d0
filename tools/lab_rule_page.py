"""The page of the rules about the lab file: each with what is looked at, and the change of a sound lab file that trips it."""

from __future__ import annotations

import difflib
import sys
from pathlib import Path

from fact_pages import MADE, table

from filmwright.knowledge import limits
from filmwright.review import LAB_RULES, LabRule
from filmwright.units import write

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "review"))
from broken_labs import BROKEN_LABS, SOUND, BrokenLab


def page() -> str:
    """All rules about the lab file."""
    parts = [
        f"{MADE}# Rules of the lab check\n",
        f"`filmwright lab check LABFILE` asks {len(LAB_RULES)} rules; with `--plan` what its steps need, too. A lab changes a limit in "
        "its own file under `limits:`. Judgement for a person who knows the tools, never a permission.\n",
        table(["rule", "can be lost", "computed"], ([r.name, r.loses, r.quantity] for r in LAB_RULES)),
        f"## The lab file that passes\n\n```yaml\n{SOUND}```\n",
    ]
    parts += [_section(rule) for rule in LAB_RULES]
    return "\n".join(parts)


def _section(rule: LabRule) -> str:
    known = limits()
    told = [
        f"`{name}`, {write(known[name].value, known[name].unit)}: {known[name].means}" for name in rule.limits
    ]
    lines = [
        f"## {rule.name}\n",
        f"* **source:** {rule.source}",
        *(f"* **limit:** {each}" for each in told),
        "",
    ]
    for broken in (each for each in BROKEN_LABS if each.rule == rule.name):
        lines.append(
            f"Fails, {broken.severity}{', with a plan that evaporates titanium' if broken.planned else ''}:\n"
        )
        lines.append(_difference(broken))
    return "\n".join(lines)


def _difference(broken: BrokenLab) -> str:
    old, new = SOUND.splitlines(), broken.text.splitlines()
    lines = difflib.unified_diff(old, new, "lab.yaml", "lab.yaml", n=1, lineterm="")
    return "```diff\n" + "\n".join(line.rstrip() for line in lines) + "\n```\n"
