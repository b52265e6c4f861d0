"""The verb that prints labels for what a lot lies in and what it is dipped into."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from filmwright.desk.answers import FilesAnswer
from filmwright.desk.files import Work, record_place, today, write
from filmwright.desk.lots import frozen
from filmwright.emulate import State, walk
from filmwright.errors import BadInput, Problem, nearest
from filmwright.outputs import LABEL_KINDS, Label, labels_pdf
from filmwright.record import Lot, Store, label_of

_WET = frozenset({"wet etch", "developer", "solvent", "stripper", "clean"})
"""Kinds of media that stand in a beaker or a bath."""


def labels(
    lot: str, kinds: Iterable[str] = (), record: str | Path | None = None, into: Path | None = None
) -> FilesAnswer:
    """Labels of a lot as PDF: its box, a carrier for each wafer, a beaker for each bath of its flow.

    Parameters
    ----------
    lot : str
    kinds : iterable of str
        ``box``, ``carrier``, ``beaker``; none for all.
    record, into : path or None
    """
    from filmwright.desk.bench.house import Bench

    wanted = kinds_asked(kinds)
    with Store.open(record_place(record)) as store:
        held, _ = frozen(store, lot)
        # The baths are those of the newest version of the flow: a beaker is labelled for what it will be used for.
        work = Bench(store).work(held.name)
    path = into or Path(f"labels-{held.name}.pdf")
    made = labels_of(held, work, wanted)
    write(path, labels_pdf(made))
    counted = ", ".join(f"{sum(each.kind == kind for each in made)} {kind}" for kind in wanted)
    return FilesAnswer(written=(path,), open=path, said=(f"labels of lot {held.name}: {counted}",))


def kinds_asked(kinds: Iterable[str]) -> tuple[str, ...]:
    """The kinds of labels that are wanted, in their order; all when none is named."""
    asked = tuple(kinds) or LABEL_KINDS
    strange = [each for each in asked if each not in LABEL_KINDS]
    if strange:
        raise BadInput(
            *(
                Problem(
                    what="the kind of a label",
                    expected="one of " + ", ".join(LABEL_KINDS),
                    got=f'"{each}"',
                    why="each kind has its own size and its own words",
                    remedy=nearest(each, LABEL_KINDS),
                )
                for each in strange
            )
        )
    return tuple(kind for kind in LABEL_KINDS if kind in asked)


def labels_of(lot: Lot, work: Work, kinds: Sequence[str]) -> tuple[Label, ...]:
    """Labels of a lot, in the order of ``kinds``."""
    found: list[Label] = []
    for kind in kinds:
        if kind == "box":
            found.append(_box(lot, work))
        elif kind == "carrier":
            found += _carriers(lot, work)
        else:
            found += _beakers(lot, work)
    return tuple(found)


def _box(lot: Lot, work: Work) -> Label:
    return Label(
        kind="box",
        head=lot.name,
        title=work.flow.title,
        lines=(
            f"wafers {', '.join(lot.wafers)}",
            f"started {lot.started[:10]} · flow {lot.flow_digest[:12]}",
        ),
        blanks=("owner", "class of the wafers", "place", "keep until"),
        code=f"filmwright lot={lot.name} flow={lot.flow_digest[:12]}",
        invented=lot.invented,
    )


def _carriers(lot: Lot, work: Work) -> tuple[Label, ...]:
    return tuple(
        Label(
            kind="carrier",
            head=label_of(lot.name, wafer),
            title=work.flow.title,
            lines=("flat or notch towards the mark",),
            blanks=("slot", "mark on the wafer"),
            code=f"filmwright lot={lot.name} wafer={wafer}",
            invented=lot.invented,
        )
        for wafer in lot.wafers
    )


def _beakers(lot: Lot, work: Work) -> tuple[Label, ...]:
    """One for each bath; steps that use the same one share it."""
    trace = walk(work.flow, work.lab, work.facts, work.drawing, on=today(), sections=False)
    baths: dict[str, list[State]] = {}
    for state in trace.states:
        medium = work.facts.media.get(state.step.medium) if state.step.medium else None
        if medium is not None and medium.kind in _WET:
            baths.setdefault(medium.name, []).append(state)
    return tuple(_beaker(lot, name, states) for name, states in baths.items())


def _beaker(lot: Lot, name: str, states: Sequence[State]) -> Label:
    safety = states[0].safety
    lines = [f"lot {lot.name} · steps {', '.join(each.step.code for each in states)}"]
    if safety.waste:
        lines.append(f"waste: {safety.waste}")
    if safety.gear:
        lines.append(f"wear: {', '.join(safety.gear)}")
    if safety.neighbours:
        lines.append(f"never together with: {', '.join(safety.neighbours)}")
    return Label(
        kind="beaker",
        head=name[:1].upper() + name[1:],
        lines=tuple(lines),
        cautions=safety.cautions,
        blanks=("filled on", "by", "discard after", "hot until"),
        code=f"filmwright lot={lot.name} steps={'+'.join(each.step.code for each in states)}",
        invented=lot.invented,
    )
