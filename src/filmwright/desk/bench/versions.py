"""A new version of the rest of a lot's flow: what was begun stays as it was, and somebody says why."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from filmwright.desk.bench.progress import FlowVersion
from filmwright.desk.files import now
from filmwright.errors import BadInput, Problem, Problems
from filmwright.flow import Flow, Step, flow_from_text
from filmwright.record import Event, digest

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench
    from filmwright.desk.bench.surroundings import Surroundings
    from filmwright.review import Finding

_MEDIA = "application/yaml"


@dataclass(frozen=True, kw_only=True)
class NewVersion:
    """A flow that somebody wants to go on with.

    Attributes
    ----------
    lot, text, why, who : str
    seen : str
        Digest of the version that it was written from; empty where nobody else can have changed it.
    acknowledged : mapping from rule to reason
        Findings that stop and are accepted all the same.
    id : str
        Of the entry; drawn where empty. Sent twice, the version is kept once.
    """

    lot: str
    text: str
    why: str
    who: str = ""
    seen: str = ""
    acknowledged: Mapping[str, str] = field(default_factory=dict)
    id: str = ""


class Stopped(BadInput):
    """The review stops a version, and not every finding is accepted for a reason.

    Attributes
    ----------
    rules : tuple of str
        That stop, those that are accepted already among them.
    """

    def __init__(self, *problems: Problem, rules: tuple[str, ...] = ()) -> None:
        super().__init__(*problems)
        self.rules = rules


def save_version(bench: Bench, asked: NewVersion, *, apart: bool = False) -> FlowVersion:
    """Save a new version of a flow; every problem of it at once.

    Parameters
    ----------
    bench : Bench
    asked : NewVersion
    apart : bool
        Whether the flow is walked by the process beside the server, so that nobody's tap waits for it.

    Raises
    ------
    BadInput
        When it cannot be read, changes what was begun, has no reason, was written from a version that is no longer
        the newest, or the review stops it and nobody acknowledges that.
    """
    held = bench.lot(asked.lot)
    key = str(uuid.UUID(asked.id)) if asked.id else str(uuid.uuid4())
    if any(each.id == key for each in bench.written(asked.lot)):
        return bench.versions(asked.lot)[-1]
    problems = Problems()
    if not asked.why.strip():
        problems.add(
            _problem(
                "the reason of the new version",
                "words",
                "",
                "somebody else will ask why",
                "write one sentence",
            )
        )
    newest = bench.versions(asked.lot)[-1]
    if asked.seen and asked.seen != newest.digest:
        problems.add(
            _problem(
                "the version that it was written from", f"the newest ({newest.digest[:8]})", asked.seen[:8],
                f"{newest.who or 'somebody'} saved another one: {newest.why}",
                "look at both, take over what is new, and save again",
            )
        )  # fmt: skip
    flow = _read(bench, asked, problems)
    problems.found.extend(check_begun(bench, asked.lot, flow))
    problems.raise_any()
    if digest(asked.text) == newest.digest:
        return newest
    _check_review(bench, asked, flow, _findings(bench, asked, apart))
    sha256 = bench.store.keep_blob(asked.text.encode(), _MEDIA, f"flow of {asked.lot}")
    moment = now()
    common = {
        "lot": asked.lot,
        "who": asked.who,
        "happened": moment,
        "written": moment,
        "invented": held.invented,
    }
    events = [Event(id=key, kind="flow", sha256=sha256, text=asked.why.strip(), **common)]  # type: ignore[arg-type]
    events += [
        Event(id=str(uuid.uuid5(uuid.UUID(key), rule)), kind="acknowledge", name=rule, text=why, **common)  # type: ignore[arg-type]
        for rule, why in asked.acknowledged.items()
        if why.strip()
    ]
    bench.store.append(events)
    return bench.versions(asked.lot)[-1]


def _read(bench: Bench, asked: NewVersion, problems: Problems) -> Flow:
    try:
        return flow_from_text(asked.text, f"new flow of lot {asked.lot}", bench.lab_of(asked.lot))
    except BadInput as bad:
        problems.found.extend(bad.problems)
        problems.raise_any()
        raise


def begun(bench: Bench, lot: str) -> int:
    """How many elementary steps, from the first on, belong to written steps that were begun on any wafer.

    Parameters
    ----------
    bench : Bench
    lot : str
    """
    progress = bench.progress(lot)
    last = -1
    for states in progress.states.values():
        untouched = {"waiting", "ready", "away", "scrapped"}
        last = max([last, *(k for k, state in enumerate(states) if state not in untouched)])
    last = max(
        [last, *(k for k, step in enumerate(progress.steps) if _visited(progress.visits, step.number))]
    )
    if last < 0:
        return 0
    written = progress.steps[last].number.split(".")[0]
    return max(k for k, step in enumerate(progress.steps) if step.number.split(".")[0] == written) + 1


def _visited(visits: Mapping[tuple[str, str], object], number: str) -> bool:
    return any(step == number for _, step in visits)


def check_begun(bench: Bench, lot: str, flow: Flow) -> Iterable[Problem]:
    """What a new flow changes of what was begun, at the lines of the new text.

    Parameters
    ----------
    bench : Bench
    lot : str
    flow : Flow
    """
    old = bench.flow(lot)
    count = begun(bench, lot)
    if not count:
        return
    if _wafer(flow) != _wafer(old):
        yield _problem(
            "the wafer, the drawing and the levels of the new flow", "as they are", "changed",
            "steps were begun on them", "leave them as they are, or start another lot",
        ).at(flow.file, flow.body.line)  # fmt: skip
    for k in range(count):
        problem = _changed(old.steps[k], flow.steps, k)
        if problem is not None:
            yield problem.at(flow.file, flow.steps[min(k, len(flow.steps) - 1)].line if flow.steps else 1)
            return


def _wafer(flow: Flow) -> tuple[object, ...]:
    levels = {name: replace(level, line=0) for name, level in flow.masks.items()}
    return replace(flow.body, line=0), flow.drawing, flow.grid, levels


def _changed(step: Step, steps: Sequence[Step], k: int) -> Problem | None:
    if k < len(steps) and _bare(steps[k]) == _bare(step):
        return None
    got = steps[k].title if k < len(steps) else "no such step"
    if k < len(steps) and steps[k].title == step.title:
        got += ", with other settings"
    return _problem(
        f"step {step.code}, which was begun", f'as it was: "{step.title}"', got,
        "what was done is told by its number and its settings, and a wafer is followed through them",
        "put this step back as it was and change only what lies ahead; what was done beyond the plan is an extra step",
    )  # fmt: skip


def _bare(step: Step) -> Step:
    """A step without its place in the text and without what is only said about it."""
    sources = tuple(replace(each, line=0) for each in step.sources)
    return replace(step, line=0, sources=sources, by_recipe={}, because="", acknowledged={}, hold="")


def _check_review(bench: Bench, asked: NewVersion, flow: Flow, findings: Iterable[Finding]) -> None:
    """Findings that stop, of steps ahead, must be acknowledged with a reason."""
    problems = Problems()
    first = begun(bench, asked.lot)
    ahead = {step.number for step in flow.steps[first:]} | {""}
    stops = [
        each for each in findings if each.severity == "stop" and not each.acknowledged and each.step in ahead
    ]
    for finding in stops:
        if not asked.acknowledged.get(finding.rule, "").strip():
            problems.add(
                Problem(
                    what=finding.what, expected=finding.expected, got=finding.got,
                    why=f"{finding.why} [{finding.rule}]",
                    remedy=f"{finding.remedy}; or the process owner acknowledges it with a reason",
                    file=flow.file, line=finding.line,
                )
            )  # fmt: skip
    if problems.found:
        raise Stopped(*problems.found, rules=tuple(dict.fromkeys(each.rule for each in stops)))


def _findings(bench: Bench, asked: NewVersion, apart: bool) -> tuple[Finding, ...]:
    from filmwright.desk.bench.live_review import live_review
    from filmwright.desk.bench.surroundings import of_lot

    job = asked.text, of_lot(bench, asked.lot), now()[:10]
    found: tuple[Finding, ...] = live_review(bench).waited(judged, *job) if apart else judged(*job)
    return found


def judged(text: str, around: Surroundings, on: str) -> tuple[Finding, ...]:
    """What the rules find in a flow text.

    Parameters
    ----------
    text : str
    around : Surroundings
        The lot's lab file and drawing.
    on : str
        ISO date.

    Raises
    ------
    BadInput
        When it cannot be read.
    """
    from filmwright.emulate import walk
    from filmwright.review import review

    work, problems = around.work(text)
    if work is None:
        raise BadInput(*problems)
    return tuple(review(walk(work.flow, work.lab, work.facts, work.drawing, on=on), work.facts))


def _problem(what: str, expected: str, got: str, why: str, remedy: str) -> Problem:
    return Problem(what=what, expected=expected, got=f'"{got}"', why=why, remedy=remedy)
