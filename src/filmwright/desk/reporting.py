"""The verb report: one page that tells a lot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from filmwright.desk.answers import FilesAnswer
from filmwright.desk.comparison_rows import fit_table, rows_of, told
from filmwright.desk.explain import (
    SHOWN,
    Probed,
    Story,
    gather,
    good,
    linear,
    saturated,
    typical,
)
from filmwright.desk.files import record_place, write
from filmwright.desk.heat_rows import heat_rows
from filmwright.desk.learning import (
    curve_picture,
    proposals_of,
    share_pictures,
)
from filmwright.desk.lot_lengths import CORRECTED, sets_of, with_contacts
from filmwright.desk.report_checklist import report_rows
from filmwright.desk.report_lengths import length_pictures, length_tables
from filmwright.desk.report_many import many, medians, without_left_out, yields
from filmwright.desk.report_pictures import read_pictures
from filmwright.desk.report_unknowns import unknowns_of
from filmwright.emulate import Safety, State, Trace, end_traces
from filmwright.flow import SPREAD
from filmwright.learn import Z95, Proposal
from filmwright.outputs import (
    AsRunRow,
    Estimate,
    Legend,
    MethodsStep,
    Picture,
    ProposalRow,
    ReportContent,
    ReportStep,
    SafetyRow,
    SourceRow,
    Verdict,
    end_trace_svg,
    final_plan_svg,
    final_section_svg,
    legend_of,
    methods_paragraph,
    report_html,
)
from filmwright.record import Event, Store
from filmwright.review import Finding
from filmwright.review import review as judge
from filmwright.units import plain, show
from filmwright.units import write as written


def report(lot: str, record: str | Path | None = None, into: Path | None = None) -> FilesAnswer:
    """Write the report of a lot."""
    with Store.open(record_place(record)) as store:
        story = gather(store, lot, sections=True)
        head = store.verify(story.lot.name).head
    path = into or Path(f"report-{story.lot.name}.html")
    page = report_html(content_of(story, head))
    write(path, page)
    size = len(page.encode()) / 2**20
    return FilesAnswer(
        written=(path,),
        open=path,
        said=(
            f"Report of lot {story.lot.name}, {len(story.probed)} measured files",
            f"One file of {size:.1f} MiB: it needs no network, and prints with vector figures",
        ),
    )


def content_of(story: Story, head: str = "") -> ReportContent:
    """Everything that the report shows."""
    flow, legend = story.work.flow, legend_of(story.work.facts.materials)
    last = next(reversed(list(story.run.values())), story.planned)
    chosen = typical(without_left_out(story).probed)
    proposals, explained, sets = proposals_of(story), told(story, chosen), sets_of(story)
    corrected = with_contacts(story, sets)
    kept = without_left_out(corrected)
    found, together, checklist = medians(kept), many(story), report_rows(story)
    return ReportContent(
        lot=story.lot.name,
        title=flow.title,
        digest=flow.digest
        + (f", version {story.versions}" if story.versions > 1 else "")
        + (f", record {head[:12]}" if head else ""),
        date=story.lot.started[:10],
        because=flow.because,
        wafers=story.lot.wafers,
        invented=story.invented,
        verdict=_verdict(kept, found, len(story.probed) - len(kept.probed)),
        yields=yields(kept),
        medians=found,
        unknowns=unknowns_of(story, explained, sets, checklist),
        findings=_findings(story),
        sections=_sections(story, legend, last),
        ends=_ends(story),
        curves=(curve_picture(story, chosen), *read_pictures(chosen, story.invented)) if chosen else (),
        maps=together.maps,
        many=together.tables,
        many_figures=together.figures,
        shares=share_pictures(explained, chosen, story.invented) if chosen else (),
        steps=tuple(_step(story, state) for state in story.planned.states),
        parameters=_parameters(corrected),
        lengths=length_tables(story, sets),
        length_figures=length_pictures(sets, story.invented),
        fit=fit_table(explained),
        checklist=checklist,
        comparison=rows_of(explained, chosen) if chosen else (),
        proposals=tuple(_proposal(each) for each in proposals),
        sources=_sources(story, chosen),
        methods=(_methods(story, last),),
        safety=_safety(story.planned),
        heat=heat_rows(last, story.work.facts),
        links=(),
    )


def _safety(trace: Trace) -> tuple[SafetyRow, ...]:
    """Hazards of the steps, those alike in one row."""
    alike: dict[Safety, list[str]] = {}
    for state in trace.states:
        if state.safety.cautions:
            alike.setdefault(state.safety, []).append(state.step.code)
    return tuple(
        SafetyRow(
            steps=tuple(codes),
            cautions=safety.cautions,
            gear=safety.gear,
            apart=safety.neighbours,
            alarms=safety.alarms,
            waste=safety.waste,
            interlock=safety.interlock,
            second_person=safety.second_person,
        )
        for safety, codes in alike.items()
    )


def _findings(story: Story) -> tuple[Finding, ...]:
    """Findings of the plan, then those that only the history of a wafer brings, with its name."""
    planned = judge(story.planned, story.work.facts)
    known = {(each.rule, each.step) for each in planned}
    lived = [
        replace(each, what=f"wafer {wafer}, as run: {each.what}")
        for wafer, trace in story.run.items()
        for each in judge(trace, story.work.facts)
        if (each.rule, each.step) not in known and each.severity != "note"
    ]
    return (*planned, *lived)


def _sections(story: Story, legend: Legend, last: Trace) -> tuple[Picture, ...]:
    pictures = []
    for title, trace, prefix in (("As planned", story.planned, "rp-"), ("As run", last, "rr-")):
        if trace.start.section is not None and trace.states:
            pictures.append(
                Picture(
                    title=title,
                    svg=final_section_svg(trace, legend, title=title, prefix=prefix),
                    invented=story.invented,
                )
            )
    pictures.append(
        Picture(
            title="The die, as planned", svg=final_plan_svg(story.planned, legend), invented=story.invented
        )
    )
    return tuple(pictures)


def _ends(story: Story) -> tuple[Picture, ...]:
    """One figure for each plasma etch: what its end looks like, with the time and the over-etch as planned."""
    facts = story.work.facts
    plasmas = {
        state.step.number: state
        for state in story.planned.states
        if state.step.kind == "etch" and facts.medium(state.step.medium).kind == "plasma"
    }
    seen = end_traces(story.planned, facts, plasmas) if plasmas else {}
    return tuple(
        Picture(
            title=f"{number} {plasmas[number].step.title}",
            svg=end_trace_svg(
                each, title="What is seen while it goes", prefix=f"re{number.replace('.', '-')}-"
            ),
            caption=_over_etch(plasmas[number]),
            invented=story.invented,
        )
        for number, each in seen.items()
    )


def _over_etch(state: State) -> str:
    """What the plan adds after the end point, against what the worst place needs."""
    etch = state.etch
    if etch is None or not etch.end:
        return "No end point is known."
    over, needed = 100 * (etch.total / etch.end - 1), 100 * etch.needed
    return f"Over-etch {over:.0f} % of the time to the end point; the thickest film in the slowest place needs {needed:.0f} %."


def _verdict(story: Story, found: Sequence[Estimate], excluded: int) -> Verdict:
    working, total = sum(good(each) for each in story.probed), len(story.probed)
    names = ", ".join(story.lot.wafers)
    made = f"{story.work.flow.title} on {len(story.lot.wafers)} wafer{'s' if len(story.lot.wafers) != 1 else ''} ({names})."
    made = " ".join((made, *story.followed))
    if not total:
        return Verdict(
            made=made,
            worked="Cannot tell: no measured curves are kept with this lot.",
            sure="Nothing is measured yet.",
        )
    wafers = len({each.wafer for each in story.probed})
    threshold = next(
        (each for each in found if each.name == "threshold voltage" and each.value is not None), None
    )
    worked = f"{working} of {total} probed devices work"
    worked += (
        f"; the median threshold is {threshold.text} (95 % interval of the median {threshold.interval} V)."
        if threshold
        else "."
    )
    if excluded:
        worked += f" Excluded by a person, with reasons: {excluded}."
    many = "s" if wafers != 1 else ""
    sure = (
        f"{total} devices on {wafers} wafer{many} are {wafers} independent run{many}, not {total}: "
        "intervals hold within these wafers and say nothing of the next lot."
    )
    return Verdict(made=made, worked=worked, sure=sure)


def _unit(story: Story, name: str) -> str:
    for each in story.probed:
        for result in each.results:
            return result.parameters[name].unit.replace("/decade", "")
    return ""


def _parameters(story: Story) -> tuple[Estimate, ...]:
    found = []
    for each in story.probed:
        for name in (*SHOWN, CORRECTED):
            place = saturated(each) if name == "saturation_mobility" else linear(each)
            if place is None:
                continue
            p = each.results[place].parameters[name]
            std = p.std or 0.0
            window = f"{p.window[0]:g} to {p.window[1]:g} V" if p.window else ""
            known = p.valid and p.value is not None
            found.append(
                Estimate(
                    name=name.replace("_", " "),
                    unit=p.unit.replace("/decade", ""),
                    value=p.value if known else None,
                    low=(p.value or 0.0) - Z95 * std if known and std else None,
                    high=(p.value or 0.0) + Z95 * std if known and std else None,
                    definition=p.method,
                    window=window,
                    valid=p.valid,
                    why_not=p.why_not,
                    group=f"{each.wafer} {each.device}",
                )
            )
    return tuple(found)


def _step(story: Story, state: State) -> ReportStep:
    step = state.step
    events = [event for event in story.events if event.step == step.number]
    when = next((event.happened[:16].replace("T", " ") for event in events if event.kind == "start"), "")
    rows = _rows(story, state)
    happened = _happened(story, events)
    if happened == "as planned" and any(row.apart for row in rows):
        happened = "changed"
    notes = "; ".join(
        dict.fromkeys(
            event.text for event in events if event.text and event.kind in {"note", "skip", "hold", "rework"}
        )
    )
    by = ", ".join(dict.fromkeys(event.who for event in events if event.who))
    return ReportStep(
        number=step.number,
        title=step.title,
        code=step.code,
        tool=step.tool,
        happened=happened,
        when=when,
        by=by,
        note=notes,
        rows=rows,
    )


def _happened(story: Story, events: Sequence[Event]) -> str:
    """What became of a step, with the wafers named where they differ."""
    words: dict[str, list[str]] = {}
    for wafer in story.lot.wafers:
        kinds = {event.kind for event in events if event.wafer in ("", wafer)}
        word = (
            "skipped"
            if "skip" in kinds
            else "repeated"
            if kinds & {"repeat", "rework"}
            else "as planned"
            if kinds
            else "not run"
        )
        words.setdefault(word, []).append(wafer)
    if len(words) == 1:
        return next(iter(words))
    return ", ".join(f"{word} on {' and '.join(wafers)}" for word, wafers in words.items())


_TOLD_AT_HOME = {"line width", "line width" + SPREAD, "drawn width"}
"""Readings that stand at the step where they were taken and not again at the one that they tell of."""


def _rows(story: Story, state: State) -> tuple[AsRunRow, ...]:
    lived = [
        each.step
        for trace in story.run.values()
        for each in trace.states
        if each.step.number == state.step.number
    ]
    planned = {s.name: (s.value, s.unit, s.spread) for s in state.settings if s.value is not None}
    if state.thickness is not None:
        planned["thickness"] = (state.thickness, "nm", state.thickness_std)
    if "expected end point" in planned:
        planned["end point"] = planned.pop("expected end point")
    done = {name: value for step in lived for name, value in step.done.items() if SPREAD not in name}
    measured: dict[str, list[float]] = {}
    spreads: dict[str, list[float]] = {}
    for step in lived:
        for name, value in step.measured.items():
            if name in _TOLD_AT_HOME and step.kind == "develop":
                continue
            target = spreads if name.endswith(SPREAD) else measured
            target.setdefault(name.removesuffix(SPREAD), []).append(value)
    rows = []
    for name in dict.fromkeys((*planned, *done, *measured)):
        plan, unit, band = planned.get(name, (None, _logged_unit(story, state, name), None))
        mean = float(np.mean(measured[name])) if name in measured else None
        std = float(np.mean(spreads[name])) if name in spreads else None
        apart = plan is not None and any(
            x is not None and abs(x - plan) > 2 * (band or 0.02 * abs(plan)) for x in (done.get(name), mean)
        )
        rows.append(
            AsRunRow(
                name=name,
                unit=unit,
                planned=plan,
                planned_std=band,
                as_run=done.get(name),
                measured=mean,
                measured_std=std,
                apart=apart,
                invented=story.invented,
            )
        )
    return tuple(rows)


def _logged_unit(story: Story, state: State, name: str) -> str:
    if name == "print bias":
        return "um"
    return next(
        (
            event.unit
            for event in story.events
            if event.step == state.step.number and event.name == name and event.unit
        ),
        "",
    )


def _proposal(proposal: Proposal) -> ProposalRow:
    p = proposal
    return ProposalRow(
        what=p.what,
        now=f"{written(p.old, p.unit)} ± {plain(p.old_std, p.unit):.2g}"
        if np.isfinite(p.old_std)
        else written(p.old, p.unit),
        proposed=written(p.new, p.unit),
        band=f"{written(p.low, p.unit)} to {written(p.high, p.unit)}",
        gain=p.why,
        evidence="; ".join(p.evidence),
        warning=" ".join(p.warnings),
        inside_noise=not p.change_worthwhile,
    )


def _sources(story: Story, chosen: Probed | None) -> tuple[SourceRow, ...]:
    rows: dict[tuple[str, str], SourceRow] = {}
    for state in story.planned.states:
        for setting in state.settings:
            if setting.value is None:
                continue
            name = f"{setting.name} of {state.step.title}"
            rows[name, str(setting.source)] = SourceRow(
                number=name,
                value=written(setting.value, setting.unit),
                kind=setting.source.kind,
                citation=setting.evidence or str(setting.source),
                used_in=state.step.code,
            )
    for name, value in (chosen.planned.rests_on if chosen and chosen.planned else {}).items():
        rows[name, str(value.source)] = SourceRow(
            number=name,
            value=f"{written(value.value, value.unit)} ({written(value.low, value.unit)} to {written(value.high, value.unit)})",
            kind=value.source.kind,
            citation=str(value.source),
            used_in="prediction",
        )
    return tuple(rows.values())


def _methods(story: Story, last: Trace) -> str:
    body = story.work.flow.body
    films = " and ".join(f"{show(film.thickness, 'length')} {film.material}" for film in body.films)
    start = f"{body.material} wafers ({show(body.diameter, 'length')})" + (f" with {films}" if films else "")
    steps = []
    for state in last.states:
        step = state.step
        asked = {name: quantity.value for name, quantity in step.asked.items()}
        steps.append(
            MethodsStep(
                kind=step.kind,
                material=step.material,
                method=step.method,
                medium=step.medium,
                mask=step.mask,
                resist=step.resist,
                thickness=step.measured.get("thickness", state.thickness),
                thickness_measured="thickness" in step.measured,
                temperature=step.done.get("temperature", asked.get("temperature")),
                time=step.done.get("time", asked.get("time")),
                pressure=asked.get("pressure"),
                power=asked.get("power"),
                dose=step.done.get("dose"),
                speed=step.done.get("spin speed"),
                over_etch=step.end.extra if step.end else None,
                logged=bool(step.done or step.measured or step.started),
            )
        )
    return methods_paragraph(start, steps, invented=story.invented)
