"""Changes of the plan text that a remedy asks for: whole lines, so that comments and layout stay as they are."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import count, takewhile

from filmwright.emulate import State
from filmwright.review.case import Case
from filmwright.review.finding import Change, Finding
from filmwright.units import write

_SPECIAL = set(":#{}[],&*!|>%@`\"'")
"""Characters that a bare YAML text must not hold everywhere."""

_WET = {"stripper", "solvent"}
"""Kinds of stripper that are proposed; an ashing plasma changes more than the resist."""


def replaces(case: Case, state: State, key: str, value: str) -> Change | None:
    """Give a key of a written step another value, or the step this key; a comment behind the value stays."""
    block = _block(case, state.step.line)
    if block is None:
        return None
    first, lines, indent = block
    for place, line in enumerate(lines):
        found = re.match(rf"(\s{{{indent}}}{re.escape(key)}:\s*)(.*?)(\s+#.*)?$", line)
        if found:
            text = f"{found[1]}{value}{found[3] or ''}"
            return Change(line=first + place, removes=1, lines=(text,))
    return Change(line=first + 1, removes=0, lines=(f"{' ' * indent}{key}: {value}",))


def removes(case: Case, state: State, key: str) -> Change | None:
    """Take a key out of a written step."""
    block = _block(case, state.step.line)
    if block is None:
        return None
    first, lines, indent = block
    for place, line in enumerate(lines):
        if re.match(rf"\s{{{indent}}}{re.escape(key)}:", line):
            return Change(line=first + place, removes=1, lines=())
    return None


def instead(case: Case, state: State, key: str, other: str, value: str) -> Change | None:
    """Put another key with its value in the place of a key of a written step; a comment behind it stays."""
    found = removes(case, state, key)
    block = _block(case, state.step.line)
    if found is None or block is None:
        return None
    first, lines, indent = block
    comment = re.search(r"\s+#.*$", lines[found.line - first])
    return Change(
        line=found.line, removes=1, lines=(f"{' ' * indent}{other}: {value}{comment[0] if comment else ''}",)
    )


def adds_before(case: Case, state: State, *keys: str) -> Change | None:
    """A new written step before a step: its keys, the verb first."""
    block = _block(case, state.step.line)
    if block is None:
        return None
    first, _, indent = block
    verb, *more = _named(case, keys)
    lines = (f"{' ' * (indent - 2)}- {verb}", *(f"{' ' * indent}{each}" for each in more), "")
    return Change(line=first, removes=0, lines=lines)


def adds_after(case: Case, state: State, *keys: str) -> Change | None:
    """A new written step behind a step."""
    block = _block(case, state.step.line)
    if block is None:
        return None
    first, lines, indent = block
    verb, *more = _named(case, keys)
    new = ("", f"{' ' * (indent - 2)}- {verb}", *(f"{' ' * indent}{each}" for each in more))
    return Change(line=first + len(lines), removes=0, lines=new)


def moves_after(case: Case, state: State, other: State) -> Change | None:
    """A written step put behind a later one."""
    moved, target = _block(case, state.step.line), _block(case, other.step.line)
    if moved is None or target is None or target[0] <= moved[0]:
        return None
    first, lines, _ = moved
    last = target[0] + len(target[1])
    between = case.flow.text.splitlines()[first - 1 + len(lines) : last - 1]
    while between and not between[0].strip():
        between = between[1:]
    return Change(line=first, removes=last - first, lines=(*between, "", *lines))


def replaces_value(
    case: Case, state: State, key: str, value: float, unit: str, part: float = 0.0
) -> Change | None:
    """Another number for a key of a written step, with its band as a part of it; the unit as people type it."""
    band = f" ± {100 * part:.2g} %" if part else ""
    return replaces(case, state, key, f"{write(value, unit)}{band}")


def _named(case: Case, keys: Iterable[str]) -> Iterator[str]:
    """Keys of a new step with a name that no step has yet, quoted where YAML would read it otherwise."""
    taken = {step.name for step in case.flow.steps}
    for key in keys:
        word, _, name = key.partition(": ")
        if word != "name":
            yield key
            continue
        fresh = next(each for k in count(1) if (each := name if k == 1 else f"{name} {k}") not in taken)
        yield f"name: {json.dumps(fresh, ensure_ascii=False) if set(fresh) & _SPECIAL else fresh}"


def strips_before(case: Case, state: State, materials: Iterable[str]) -> Change | None:
    """A strip of resists before a written step and the measurements that lead to it, in a bath that takes them all."""
    bath = stripper(case, materials)
    earlier = case.trace.states[: case.places[id(state)]]
    measured = list(takewhile(lambda each: each.step.kind == "measure", reversed(earlier)))
    first = measured[-1] if measured else state
    name = state.step.name or state.step.title
    keys = ("strip: resist", f"name: strip before {name}", f"in: {bath}")
    return adds_before(case, first, *keys) if bath else None


def stripper(case: Case, materials: Iterable[str]) -> str:
    """A wet stripper that takes all of some resists, a stripper before a solvent; empty when there is none."""
    wanted = set(materials)
    lists = [resist.strippers for resist in case.facts.resists.values() if resist.material in wanted]
    if not lists:
        return ""
    common = [name for name in lists[0] if all(name in each for each in lists)]
    kinds = {name: case.facts.medium(name).kind for name in common}
    fitting = [name for name in common if kinds[name] in _WET]
    return min(fitting, key=lambda name: kinds[name] != "stripper", default="")


def _block(case: Case, line: int) -> tuple[int, list[str], int] | None:
    """Number of the first line of a written step, its lines, and the indent of its keys; None for a step in one line."""
    text = case.flow.text.splitlines()
    if not 0 < line <= len(text):
        return None
    head = re.match(r"(\s*)- (\w[^{\[]*:)", text[line - 1])
    if head is None:
        return None
    indent = len(head[1]) + 2
    end = line
    while end < len(text) and (text[end].startswith(" " * indent) and text[end].strip()):
        end += 1
    return line, text[line - 1 : end], indent


def with_changes(text: str, findings: Sequence[Finding]) -> tuple[str, tuple[Finding, ...]]:
    """A plan text with the changes that findings carry, and the findings whose changes were made.

    Where two findings change the same lines, the graver one, which comes first, is followed; the other is judged again.
    """
    taken: dict[int, tuple[Change, Finding]] = {}
    for each in findings:
        change = each.change
        if change is None or each.acknowledged:
            continue
        lines = range(change.line, change.line + max(change.removes, 1))
        if not any(line in taken for line in lines):
            taken.update(dict.fromkeys(lines, (change, each)))
    done = text.splitlines(keepends=True)
    for line in sorted(taken, reverse=True):
        change, _ = taken[line]
        if line == change.line:
            done[line - 1 : line - 1 + change.removes] = [f"{each}\n" for each in change.lines]
    followed = dict.fromkeys(id(finding) for _, finding in taken.values())
    return "".join(done), tuple(each for each in findings if id(each) in followed)
