"""Verbs that look back: compare and next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from filmwright.desk.answers import CompareAnswer, CompareRow, NextAnswer
from filmwright.desk.comparison_rows import Told, fields_of, notes_of, rows_of, told
from filmwright.desk.curve_files import write_figure
from filmwright.desk.explain import (
    Probed,
    Story,
    gather,
    good,
    linear,
    parameter_rows,
    typical,
)
from filmwright.desk.files import now, record_place, today, write
from filmwright.desk.predicted_curves import Origin, film_spreads, predicted_curve
from filmwright.emulate import Prediction, State, Trace
from filmwright.errors import BadInput, Problem, Problems
from filmwright.flow import SPREAD
from filmwright.learn import Proposal, ThicknessEvidence, WidthEvidence, as_calibration, propose
from filmwright.outputs import (
    CompareContent,
    Curve,
    Picture,
    Share,
    compare_html,
    predicted_plot,
    share_svg,
)
from filmwright.record import AcceptedCalibration, Store
from filmwright.units import show, to_si

_STYLUS = to_si(1, "nm")
"""Standard deviation of a thickness that was logged without one [m]; judgement for a stylus on a clean step."""


def compare(
    lot: str,
    record: str | Path | None = None,
    into: Path | None = None,
    figure: Path | None = None,
    device: str = "",
) -> CompareAnswer:
    """Predicted from the wafer as planned and as run, beside what was measured; ``figure`` is written for print."""
    with Store.open(record_place(record)) as store:
        story = gather(store, lot)
    answer = compared(story, into, device)
    if figure is None:
        return answer
    chosen = device_of(story, device) if device else typical(story.probed)
    picture = curve_picture(story, chosen).plot if chosen is not None else None
    written = write_figure([picture] if picture is not None else [], figure)
    return replace(answer, said=(*answer.said, *(f"Written: {path}" for path in written)))


def compared(story: Story, into: Path | None = None, device: str = "") -> CompareAnswer:
    """The comparison of a lot that was gathered; ``into`` is where its page is written, ``device`` is shared out in place of
    the one in the middle."""
    rows = tuple(
        CompareRow(
            device=f"{each.wafer} {each.device}",
            parameter=name.replace("_", " "),
            unit=unit,
            planned=planned,
            as_run=run,
            measured=measured,
            measured_std=std,
            why_not=why,
        )
        for each in story.probed
        if good(each)
        for name, unit, planned, run, measured, std, why in parameter_rows(each)
    )
    chosen = typical(story.probed) if not device else device_of(story, device)
    found = told(story, chosen)
    said = (*story.followed, *comparison_notes(story), *notes_of(found))
    path = None
    if chosen is not None and into is not None:
        content = CompareContent(
            title=f"Lot {story.lot.name}: {story.work.flow.title}",
            rows=rows_of(found, chosen),
            curves=(curve_picture(story, chosen),),
            shares=share_pictures(found, chosen, story.invented),
            said=said,
            invented=story.invented,
        )
        path = write(into, compare_html(content))
    elif into is not None:
        said = (
            *said,
            "No page was written: it needs a working device that is predicted as planned and as run.",
        )
    return CompareAnswer(
        lot=story.lot.name,
        rows=rows,
        said=said,
        shares=_shares(found, chosen),
        explained=fields_of(found),
        open=path,
    )


def comparison_notes(story: Story) -> tuple[str, ...]:
    """What cannot be compared, and why."""
    notes = []
    if not story.probed:
        notes.append(
            "No measured tables are kept: filmwright log LOT STEP --curves FILE --device T07 --wafer W1"
        )
    if not story.run:
        notes.append("Nothing is logged yet: as run is not known.")
    missing = sorted({each.device for each in story.probed if each.planned is None})
    if missing:
        notes.append(
            f"Not predicted (not found on the emulated wafer, or values not on file): {', '.join(missing[:6])}"
        )
    behind = sorted({each.wafer for each in story.probed if each.planned and not each.as_run and each.wafer})
    if behind and story.run:
        notes.append(
            f"As run ends before the devices of {', '.join(behind)} are there: log what was done up to the last step."
        )
    unread = [each for each in story.probed if each.problem]
    notes.extend(each.problem for each in unread[:5])
    return tuple(notes)


def device_of(story: Story, name: str) -> Probed:
    """The measured device of this name, the first wafer that has it working."""
    alike = [each for each in story.probed if each.device == name]
    working = [each for each in alike if good(each)]
    if not working:
        raise BadInput(
            Problem(
                what="the device",
                expected=f"one of {', '.join(dict.fromkeys(each.device for each in story.probed if good(each)))}",
                got=f'"{name}"' + (" that does not work" if alike else ""),
                why="only a working device that was measured can be compared",
                remedy="name one of these, or leave --device out for the one in the middle",
            )
        )
    return working[0]


def _shares(told_of: Told, chosen: Probed | None) -> tuple[dict[str, object], ...]:
    found = told_of.on_current
    if found is None or chosen is None:
        return ()
    rows = [*found.shares, found.rest]
    return tuple(
        {
            "device": chosen.device,
            "cause": row.name,
            "amount_A": row.amount,
            "low_A": row.low,
            "high_A": row.high,
        }
        for row in rows
    )


def curve_picture(story: Story, probed: Probed) -> Picture:
    """The forward transfer curve at the smallest drain voltage: planned and as run with bands, measured."""
    place = linear(probed)
    assert place is not None  # only asked for devices that have one
    sweep = probed.sweeps[place]
    measured = Curve(
        voltage=sweep.gate_voltage,
        current=sweep.drain_current,
        gate_current=sweep.gate_current,
        label="measured",
    )
    origins: tuple[tuple[Origin, Prediction | None, Trace | None], ...] = (
        ("planned", probed.planned, story.planned),
        ("as run", probed.as_run, story.run.get(probed.wafer)),
    )
    predicted = [
        predicted_curve(sweep, found, origin, _spreads(trace, probed.device))
        for origin, found, trace in origins
        if found is not None
    ]
    drain = "" if sweep.drain_voltage is None else f" at V_D = {sweep.drain_voltage:g} V"
    banded = " Bands enclose 95 %, from the spreads of all values on file and of the films."
    caption = (
        f"{probed.wafer} {probed.device}{drain}; the device whose threshold is the median, so none is picked for its looks."
        + (banded if any(each.low is not None for each in predicted) else "")
    )
    title = f"Transfer curve of {probed.device}, predicted and measured"
    return Picture(
        title=title,
        plot=predicted_plot([measured], predicted, title=title),
        caption=caption,
        invented=story.invented,
    )


def _spreads(trace: Trace | None, name: str) -> dict[str, float]:
    device = trace.devices.named(name) if trace is not None else None
    return {} if trace is None or device is None else film_spreads(trace, device)


def share_pictures(told_of: Told, probed: Probed, invented: bool) -> tuple[Picture, ...]:
    """The difference of the on-current from plan, shared out, with the rest."""
    found = told_of.on_current
    if found is None:
        return ()
    shares = [Share(cause=row.name, amount=row.amount, low=row.low, high=row.high) for row in found.shares]
    unit = show(max(abs(found.planned), abs(found.measured)), "current").split(" ")[-1]
    svg = share_svg(found.planned, shares, found.measured, unit=unit, name="on-current")
    caption = (
        f"On-current of {probed.device}: {show(found.planned, 'current')} as planned, {show(found.as_run, 'current')} as run, "
        f"{show(found.measured, 'current')} measured. To tell the causes apart best, measure next: {found.measure_next}."
    )
    return (
        Picture(
            title="Where the difference from plan comes from", svg=svg, caption=caption, invented=invented
        ),
    )


def next_run(
    lot: str, accept: Iterable[int] = (), who: str = "", record: str | Path | None = None
) -> NextAnswer:
    """Proposals from what was measured; those that a person accepts join the lab's own calibrations."""
    accept = tuple(accept)
    with Store.open(record_place(record)) as store:
        story = gather(store, lot, curves=False)
        proposals = proposals_of(story)
        if not accept:
            said = (
                ("Nothing is changed until a person accepts: filmwright next LOT --accept 1 --who AB",)
                if proposals
                else _nothing(story)
            )
            return NextAnswer(lot=story.lot.name, proposals=proposals, said=said)
        chosen = _chosen(proposals, accept, who, lot)
        for proposal in chosen:
            store.accept(
                AcceptedCalibration(
                    calibration=as_calibration(proposal, by=who, date=today()),
                    lot=story.lot.name,
                    who=who,
                    when=now(),
                )
            )
    said = tuple(f"Accepted by {who}: {proposal.what}" for proposal in chosen)
    return NextAnswer(
        lot=story.lot.name, proposals=proposals, said=(*said, "The next sheet with this record uses them.")
    )


def _nothing(story: Story) -> tuple[str, ...]:
    return (
        f"No thickness, end point or line width is logged for lot {story.lot.name}, so there is nothing to learn from.",
    )


def _chosen(proposals: Sequence[Proposal], accept: Sequence[int], who: str, lot: str) -> list[Proposal]:
    problems = Problems()
    wrong = [number for number in accept if not 1 <= number <= len(proposals)]
    if wrong:
        problems.add(
            Problem(
                what="the proposal to accept",
                expected=f"a number from 1 to {len(proposals)}" if proposals else "one that was made",
                got=", ".join(map(str, wrong)),
                why="only what was proposed can be accepted"
                if proposals
                else "nothing that was logged led to one",
                remedy=f"look at: filmwright next {lot}",
            )
        )
    if not who:
        problems.add(
            Problem(
                what="who accepts",
                expected="a name or initials",
                got="nothing",
                why="a person accepts, never the program",
                remedy="add --who AB",
            )
        )
    problems.raise_any()
    chosen = [proposals[number - 1] for number in accept]
    settings = [each for each in chosen if each.quantity in {"time", "cycles"}]
    if settings:
        raise BadInput(
            Problem(
                what="the proposal to accept",
                expected="a rate or a print bias",
                got=settings[0].what,
                why="a setting follows from its rate and is no calibration",
                remedy="accept the rate instead; the next sheet then prints the setting",
            )
        )
    return chosen


def proposals_of(story: Story) -> tuple[Proposal, ...]:
    """What the readings of a lot propose."""
    lived = [(state, trace, wafer) for wafer, trace in story.run.items() for state in trace.states]
    thick = [found for each in lived if (found := _thickness(*each, story)) is not None]
    wide = [width for each in lived if (width := _width(*each, story)) is not None]
    return propose(thick, wide)


def _thickness(state: State, trace: Trace, wafer: str, story: Story) -> ThicknessEvidence | None:
    """A measured film with the time or the cycles that made it, or an end point with the film that it took."""
    step, rate = state.step, state.rate
    if rate is None or rate.value <= 0:
        return None
    if step.kind == "deposit" and "thickness" in step.measured:
        by_cycles = "cycles" in step.done
        setting = step.done.get("cycles", step.done.get("time"))
        if setting is None:
            return None
        measured, std = step.measured["thickness"], step.measured.get("thickness" + SPREAD, _STYLUS)
        of = "growth per cycle" if by_cycles else "deposition rate"
        target, tolerance = step.asked["thickness"].value, step.asked["thickness"].spread
    elif step.kind == "etch" and "end point" in step.measured:
        before = _film_before(state, trace)
        if before is None:
            return None
        setting, (measured, std) = step.measured["end point"], before
        of, target, tolerance = "etch rate", measured, None
    else:
        return None
    return ThicknessEvidence(
        tool=step.tool,
        recipe=step.recipe,
        material=step.material,
        medium=step.medium if step.kind == "etch" else "",
        of=of,  # type: ignore[arg-type]
        belief_value=rate.value,
        belief_std=rate.std,
        belief_age_days=0.0,
        setting_value=setting,
        measured=measured,
        measured_std=max(std, measured / 1000),
        target=target,
        tolerance=tolerance,
        run=story.lot.name,
        date=(step.finished or story.lot.started)[:10],
        wafer=wafer,
        invented=story.invented,
    )


def _film_before(state: State, trace: Trace) -> tuple[float, float] | None:
    """Measured thickness and its standard deviation [m] of the film that an etch takes."""
    for each in trace.states:
        if each is state:
            return None
        if (
            each.step.kind == "deposit"
            and each.step.material == state.step.material
            and "thickness" in each.step.measured
        ):
            return each.step.measured["thickness"], each.step.measured.get("thickness" + SPREAD, _STYLUS)
    return None


def _width(state: State, trace: Trace, wafer: str, story: Story) -> WidthEvidence | None:
    step = state.step
    if step.kind != "develop" or "line width" not in step.measured:
        return None
    resist = story.work.facts.resist(step.resist)
    expose = next(
        (each for each in trace.states if each.step.kind == "expose" and each.step.mask == step.mask), None
    )
    bias = resist.values["print bias"]
    return WidthEvidence(
        level=step.mask,
        drawn=step.measured["drawn width"],
        measured=step.measured["line width"],
        measured_std=step.measured.get("line width" + SPREAD, to_si(0.1, "um")),
        bias_now=bias.value,
        bias_now_std=max(bias.std, to_si(1, "nm")),
        tool=expose.step.tool if expose else "",
        material=resist.material,
        wafer=wafer,
        invented=story.invented,
    )
