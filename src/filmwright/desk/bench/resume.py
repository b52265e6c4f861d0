"""Where was I: what is sure, what ran out, where a wafer may be left, and what changed since; and handing a lot over."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from filmwright.desk.bench.progress import OpenHold, Piece, Progress
from filmwright.desk.bench.waits import Waiting, safe_places, waiting
from filmwright.desk.files import now as clock
from filmwright.errors import BadInput, Problem
from filmwright.record import Event

if TYPE_CHECKING:
    from filmwright.desk.bench.house import Bench

_PLACES = 3
"""Places to leave a wafer that are worth telling, from here on."""


@dataclass(frozen=True, kw_only=True)
class WaferThen:
    """One wafer as it was left.

    Attributes
    ----------
    piece : Piece
    sure : str
        Number of the last step that was finished in writing; empty when none was.
    when, who : str
        Of its finish.
    unsure : tuple of str
        Numbers of steps that were begun and not finished.
    next : str
        Number of the step to do next.
    exposed : str
        What lies open now, in words; empty while that is not worked out.
    """

    piece: Piece
    sure: str = ""
    when: str = ""
    who: str = ""
    unsure: tuple[str, ...] = ()
    next: str = ""
    exposed: str = ""


@dataclass(frozen=True, kw_only=True)
class ResumeAnswer:
    """A lot after a pause.

    Attributes
    ----------
    lot, title, now : str
    wafers : tuple of WaferThen
    expired, running : tuple of Waiting
        Waits that have run out, and those that have not.
    holds : tuple of OpenHold
    safe : tuple of str
        Numbers of the next steps behind which the wafers may be left; none where every place ahead has a short wait.
    safe_now : bool
        Whether nothing on file speaks against leaving them where they are.
    last : Event or None
        The last entry: who had it last, and when.
    holder : str
        Whom it was handed to.
    note : str
        What was said at the hand-over.
    changed : tuple of str
        What happened to the tools of the steps ahead, and to the flow, since the last step was done.
    codes, titles : mapping from number to str
    """

    lot: str
    title: str
    now: str
    wafers: tuple[WaferThen, ...]
    expired: tuple[Waiting, ...] = ()
    running: tuple[Waiting, ...] = ()
    holds: tuple[OpenHold, ...] = ()
    safe: tuple[str, ...] = ()
    safe_now: bool = True
    last: Event | None = None
    holder: str = ""
    note: str = ""
    changed: tuple[str, ...] = ()
    codes: dict[str, str]
    titles: dict[str, str]

    @property
    def expired_together(self) -> tuple[tuple[Waiting, ...], ...]:
        """Waits that have run out, wafers of one story together."""
        found: dict[tuple[str, ...], list[Waiting]] = {}
        for each in self.expired:
            found.setdefault((each.after, each.before, each.latest[:16], each.why, each.back), []).append(
                each
            )
        return tuple(map(tuple, found.values()))

    def fields(self) -> dict[str, Any]:
        """For programs."""
        return {
            "lot": self.lot,
            "title": self.title,
            "now": self.now,
            "handed_to": self.holder,
            "note": self.note,
            "last": None if self.last is None else {"who": self.last.who, "when": self.last.happened},
            "wafers": [
                {"wafer": each.piece.name, "location": each.piece.location, "done": self.codes.get(each.sure, ""),
                 "when": each.when, "who": each.who, "not_finished": [self.codes[k] for k in each.unsure],
                 "next": self.codes.get(each.next, ""), "exposed": each.exposed}
                for each in self.wafers
            ],
            "expired": [each.fields() for each in self.expired],
            "waits": [each.fields() for each in self.running],
            "holds": [{"wafer": each.wafer, "step": self.codes[each.step], "look_at": each.look} for each in self.holds],
            "may_be_left_now": self.safe_now,
            "safe_after": [self.codes[each] for each in self.safe],
            "changed": list(self.changed),
        }  # fmt: skip


def where_was_i(bench: Bench, lot: str, now: str = "") -> ResumeAnswer:
    """A lot after a pause: the last sure state, what ran out, and how to go on.

    Parameters
    ----------
    bench : Bench
    lot : str
    now : str
        ISO time; empty for the clock's.
    """
    with bench.looking():
        return _resumed(bench, lot, now or clock())


def _resumed(bench: Bench, lot: str, moment: str) -> ResumeAnswer:
    from filmwright.emulate import NIGHT

    progress, flow = bench.progress(lot), bench.flow(lot)
    held = bench.waits_held(lot)
    waits = waiting(progress, held, moment)
    places = {step.number: k for k, step in enumerate(progress.steps)}
    here = max((places[each.next] for each in progress.present if each.next), default=len(places)) - 1
    safe = safe_places(held, len(places), NIGHT)
    handed = [each for each in bench.events(lot) if each.kind == "handover"]
    return ResumeAnswer(
        lot=lot,
        title=flow.title,
        now=moment,
        wafers=tuple(_then(bench, progress, piece) for piece in progress.present),
        expired=tuple(each for each in waits if each.expired),
        running=tuple(each for each in waits if not each.expired),
        holds=progress.holds,
        safe=tuple(progress.steps[k].number for k in safe if k > here)[:_PLACES],
        safe_now=here < 0 or here in safe,
        last=progress.last,
        holder=progress.holder,
        note=handed[-1].text if handed else "",
        changed=_changed(bench, progress),
        codes={step.number: step.code for step in progress.steps},
        titles={step.number: step.title for step in progress.steps},
    )


def _then(bench: Bench, progress: Progress, piece: Piece) -> WaferThen:
    sure, unsure = None, []
    for step, state in zip(progress.steps, progress.states[piece.name], strict=True):
        visits = progress.visits.get((piece.name, step.number), ())
        if visits and visits[-1].finished and state in {"done", "held"}:
            sure = step.number, visits[-1]
        elif visits and visits[-1].started and not visits[-1].finished:
            unsure.append(step.number)
    return WaferThen(
        piece=piece,
        sure=sure[0] if sure else "",
        when=sure[1].finished if sure else "",
        who=sure[1].who if sure else "",
        unsure=tuple(unsure),
        next=piece.next,
        exposed=_exposed(bench, progress.lot, piece.name),
    )


def _exposed(bench: Bench, lot: str, wafer: str) -> str:
    """What lies open, from the emulation of what was done, where that is running and has come so far."""
    if bench.emulation is None:
        return ""
    run = bench.emulation.as_run(lot, wafer)
    return "" if run is None else run.now.colours


def _changed(bench: Bench, progress: Progress) -> tuple[str, ...]:
    """Lines of the logbooks of tools of the steps ahead, newer than what was last done to a wafer."""
    done = [each.finished or each.started for visits in progress.visits.values() for each in visits]
    since = max((datetime.datetime.fromisoformat(each) for each in done if each), default=None)
    ahead = {each.next for each in progress.present if each.next}
    if since is None or not ahead:
        return ()
    first = min(k for k, step in enumerate(progress.steps) if step.number in ahead)
    tools = dict.fromkeys(step.tool for step in progress.steps[first:] if step.tool)
    books = set(bench.store.books()) if tools else set()
    found = []
    for tool in tools:
        if f"tool:{tool}" not in books:
            continue
        found += [
            f"{tool}: {line.kind} {line.name}".rstrip()
            + (f", {line.text}" if line.text else "")
            + f" ({line.happened[:16].replace('T', ' ')})"
            for line in bench.store.logbook(f"tool:{tool}")
            if line.kind in {"state", "maintenance", "calibration", "qualification", "recipe"}
            and datetime.datetime.fromisoformat(line.happened) > since
        ]
    versions = [each for each in bench.versions(progress.lot)[1:] if each.happened]
    found += [
        f"flow version {each.number}: {each.why}"
        for each in versions
        if datetime.datetime.fromisoformat(each.happened) > since
    ]
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class HandOver:
    """A lot that somebody gives to another person.

    Attributes
    ----------
    lot, to, who : str
    note : str
        What the other must know.
    id : str
        Of the entry; drawn where empty.
    """

    lot: str
    to: str
    who: str = ""
    note: str = ""
    id: str = ""


def hand_over(bench: Bench, asked: HandOver) -> Event:
    """Write down that a lot goes to another person.

    Raises
    ------
    BadInput
    """
    if not asked.to.strip():
        raise BadInput(
            Problem(
                what="the person who takes the lot",
                expected="a name or initials",
                got='""',
                why="somebody answers for the wafers at every moment",
                remedy="write who takes it",
            )
        )
    moment = clock()
    event = Event(
        id=asked.id or str(uuid.uuid4()), lot=asked.lot, kind="handover", name=asked.to.strip(),
        text=asked.note, who=asked.who, happened=moment, written=moment,
        invented=bench.lot(asked.lot).invented,
    )  # fmt: skip
    bench.store.append([event])
    return event
