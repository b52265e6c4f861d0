"""Pages of the rules of the review: one for each, with the flow that passes and the change of it that fails."""

from __future__ import annotations

import difflib
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path

from fact_pages import MADE, slug, table

from filmwright.knowledge import limits
from filmwright.review import ELSEWHERE, LAB_RULES, QUESTIONS, RULES, Rule
from filmwright.units import write

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "review"))
from broken_flows import BROKEN, Broken, shipped

_JUDGED = "Judgement for a person who knows the tools, never a permission.\n"


def rules() -> str:
    """Every rule in the order of what can be lost, and the limits that a lab may change."""
    parts = [
        f"{MADE}# Rules of the review\n",
        f"{len(RULES)} rules, for the [questions](questions.md) of a person of long practice. "
        f"A lab changes a limit in its own file under `limits:`. {_JUDGED}",
        table(
            ["rule", "can be lost", "computed", "remedy in lines"],
            (
                [
                    f"[{rule.name}](rules/{slug(rule.name)}.md)",
                    rule.loses,
                    rule.quantity,
                    "yes" if changes_lines(rule) else "",
                ]
                for rule in RULES
            ),
        ),
        "## Limits\n",
    ]
    users = {name: [rule.name for rule in (*RULES, *LAB_RULES) if name in rule.limits] for name in limits()}
    rows = (
        [
            f"`{each.name}`",
            write(each.value, each.unit),
            each.means,
            each.source.kind,
            ", ".join(users[each.name]),
        ]
        for each in limits().values()
    )
    parts.append(table(["limit", "shipped", "of", "kind", "rule"], rows))
    return "\n".join(parts)


def questions() -> str:
    """What a person of long practice asks, and which rules answer it with which number."""
    parts = [
        f"{MADE}# What a person of long practice asks of a plan\n",
        f"{len(QUESTIONS)} questions, each with the rules that answer it and what they compute; see [all rules](rules.md). {_JUDGED}",
    ]
    rows = []
    for key, question in QUESTIONS.items():
        said = [
            f"[{rule.name}](rules/{slug(rule.name)}.md): {rule.quantity}"
            for rule in RULES
            if key in rule.answers
        ]
        rows.append([question, "; ".join([*said, *([ELSEWHERE[key]] if key in ELSEWHERE else [])])])
    return "\n".join([*parts, table(["question", "answered by"], rows)])


def changes_lines(rule: Rule) -> bool:
    """Whether a rule's file proposes lines of the plan for its remedy."""
    return "filmwright.review.changes" in inspect.getsource(sys.modules[rule.check.__module__])


def pages() -> dict[str, str]:
    """File name → text of the list of rules and of every rule's page."""
    return {
        "rules.md": rules(),
        "questions.md": questions(),
        **{f"rules/{slug(rule.name)}.md": _page(rule) for rule in RULES},
    }


def _page(rule: Rule) -> str:
    shipped_limits = limits()
    parts = [
        f"{MADE}# {rule.name}\n",
        "".join(f"* **asks:** {QUESTIONS[key]}\n" for key in rule.answers)
        + f"* **can be lost:** {rule.loses}\n* **computed:** {rule.quantity}\n* **source:** {rule.source}\n"
        + (
            "* **remedy in lines of the plan:** `filmwright review --suggest` shows them\n"
            if changes_lines(rule)
            else ""
        )
        + ("" if rule.may_be_accepted else "* **accepted by:** nobody\n"),
    ]
    if rule.limits:
        rows = (
            [
                f"`{name}`",
                write(shipped_limits[name].value, shipped_limits[name].unit),
                shipped_limits[name].means,
            ]
            for name in rule.limits
        )
        parts.append(table(["limit", "shipped", "of"], rows))
    for broken in (each for each in BROKEN if each.rule == rule.name):
        parts += list(_flows(broken))
    parts.append(f"[All rules](../rules.md). {_JUDGED}")
    return "\n".join(parts)


def _flows(broken: Broken) -> Iterator[str]:
    """What passes and what fails, as a difference of the two."""
    if not (broken.plan or broken.lab or broken.record):
        yield "## Passes\n\nA flow without what the rule is about: see the flow that fails.\n"
    elif broken.own:
        yield f"## Passes\n\n```yaml\n{broken.own}```\n"
    else:
        yield f"## Passes\n\nThe example `{broken.example}` as it ships.\n"
    yield f"## Fails: {broken.severity}\n"
    if not (broken.plan or broken.lab or broken.record):
        yield f"The example `{broken.example}` as it ships{f', {broken.but}' if broken.but else ''}.\n"
    if broken.plan:
        yield _difference(broken.sound, broken.text, "plan.yaml")
    if broken.lab:
        yield _difference(shipped("lab.yaml"), broken.lab_text, "lab.yaml")
    if broken.record:
        rows = (
            [each.step, each.what, each.happened or f"{each.name} = {each.value:g} (SI)"]
            for each in broken.record
        )
        yield "With this in the record:\n\n" + table(["step", "what", "when or how much"], rows)


def _difference(old: str, new: str, name: str) -> str:
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), name, name, n=2, lineterm="")
    return "```diff\n" + "\n".join(line.rstrip() for line in lines) + "\n```\n"
