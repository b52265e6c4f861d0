"""All rules on one trace: ranked by what can be lost, one finding per cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from filmwright.emulate import Trace
from filmwright.knowledge import Book
from filmwright.review.case import Case
from filmwright.review.finding import SEVERITIES, Finding
from filmwright.review.rules import RULES

OWNER = "process owner"
"""How the reason of a person begins who may accept a stop."""


def review(trace: Trace, facts: Book) -> tuple[Finding, ...]:
    """Findings of all rules, stops first, each cause once with all the rules that it breaks."""
    case = Case(trace, facts)
    found = [replace(each, rule=rule.name) for rule in RULES for each in rule.check(case)]
    ranked = sorted(_with_what_follows(_one_cause(found), case), key=_rank)
    return tuple(_acknowledged(ranked, trace))


def counts(findings: tuple[Finding, ...]) -> dict[str, int]:
    """How many of each severity; an acknowledged finding still counts."""
    return {severity: sum(each.severity == severity for each in findings) for severity in SEVERITIES}


def _rank(finding: Finding) -> tuple[int, int, str]:
    order = next((place for place, rule in enumerate(RULES) if rule.name == finding.rule), len(RULES))
    return SEVERITIES.index(finding.severity), order, finding.step


def _one_cause(found: list[Finding]) -> list[Finding]:
    """Findings of one step about one thing become one, with the gravest kept and the others named."""
    kept: dict[tuple[str, str], Finding] = {}
    for each in sorted(found, key=lambda f: SEVERITIES.index(f.severity)):
        key = (each.step, each.what)
        known = kept.get(key)
        if known is None:
            kept[key] = each
        elif each.rule != known.rule and each.rule not in known.also:
            kept[key] = replace(known, also=(*known.also, each.rule), change=known.change or each.change)
    return list(kept.values())


def _with_what_follows(found: list[Finding], case: Case) -> list[Finding]:
    """Findings that tell of one cause in other words, or of what follows from it, are told with the cause.

    Nothing is left out: the texts stand in ``follows``. What is read off the wafer goes to the first cause before it that
    leaves another wafer than was meant, unless it carries a change of the plan of its own. A cause that somebody accepts
    takes nothing with it: what follows from it is accepted by its own name.
    """
    rules = {rule.name: rule for rule in RULES}
    reasons = _reasons(case.trace)
    places = {state.step.number: place for place, state in enumerate(case.trace.states)}

    def order(each: Finding) -> tuple[int, bool, int]:
        rule = rules[each.rule]
        return places.get(each.step, -1), rule.follows, RULES.index(rule)

    ordered = sorted(found, key=order)
    open_ones = [each for each in ordered if each.rule not in reasons.get(each.step, {})]
    spoiling = next((each for each in open_ones if each.severity in rules[each.rule].spoils), None)

    def cause(each: Finding) -> Finding | None:
        rule = rules[each.rule]
        for other in open_ones:
            named = {other.rule, *other.also}
            same = other.severity != "note" and other.step == each.step and named & set(rule.same_step)
            grave = other.severity == "stop" or other.severity in rules[other.rule].spoils
            if each.rule not in named and (same or (grave and named & set(rule.because_of))):
                return other
        behind = spoiling is not None and places.get(each.step, -1) >= places.get(spoiling.step, -1)
        own = each is spoiling or each.change is not None or each.severity == "note"
        return spoiling if rule.follows and behind and not own else None

    causes = {id(each): cause(each) for each in ordered}
    later: dict[int, list[Finding]] = {}
    for each in ordered:
        first = each
        for _ in ordered:  # a cause may have a cause of its own
            first = causes[id(first)] or first
        if first is not each:
            later.setdefault(id(first), []).append(each)
    gone = {id(each) for told in later.values() for each in told}
    return [
        _joined(each, sorted(later.get(id(each), []), key=_rank)) for each in found if id(each) not in gone
    ]


def _joined(cause: Finding, later: list[Finding]) -> Finding:
    """A cause with what follows from it, as grave as the gravest of them."""
    named = (rule for each in later for rule in (each.rule, *each.also) if rule != cause.rule)
    gravest = min((cause, *later), key=lambda each: SEVERITIES.index(each.severity)).severity
    return replace(
        cause,
        severity=gravest,
        also=tuple(dict.fromkeys((*cause.also, *named))),
        follows=tuple(_in_short(each) for each in later),
    )


def _in_short(each: Finding) -> str:
    at = f" (line {each.line})" if each.line else ""
    return f"{each.what} must be {each.expected}, got {each.got}{at}"


def _acknowledged(found: list[Finding], trace: Trace) -> list[Finding]:
    """Reasons for going on: an operator's for a warn, the process owner's for a stop, nobody's for what must never happen."""
    reasons = _reasons(trace)
    never = {rule.name for rule in RULES if not rule.may_be_accepted}
    done = []
    for each in found:
        reason = reasons.get(each.step, {}).get(each.rule, "").strip()
        if not reason:
            done.append(each)
        elif never & {each.rule, *each.also}:
            done.append(
                replace(each, refused=f'nobody may accept this; the reason "{reason}" does not count')
            )
        elif each.severity == "stop" and not _of_owner(reason, trace.lab.owners):
            done.append(replace(each, refused=f'{_who_may(trace.lab.owners)}; "{reason}" does not count'))
        else:
            done.append(replace(each, acknowledged=reason))
    return done


def _reasons(trace: Trace) -> Mapping[str, Mapping[str, str]]:
    """Step → rule → the reason that the plan gives for going on."""
    return {step.number: step.acknowledged for step in trace.flow.steps}


def _of_owner(reason: str, owners: tuple[str, ...]) -> bool:
    """Whether a reason is given in the name of a process owner: of one that the lab file names, where it names some."""
    said = reason.lower().removeprefix(OWNER)
    if len(said) == len(reason) or not said[:1].isspace():
        return False
    words = [word.strip(",;:.") for word in said.split()]
    if not owners:
        return bool(words)
    return any(words[: len(each.split())] == each.lower().split() for each in owners)


def _who_may(owners: tuple[str, ...]) -> str:
    name = f"the name of one of them ({', '.join(owners)})" if owners else "a name"
    return f'only the process owner accepts a stop: begin the reason with "{OWNER}" and {name}'
