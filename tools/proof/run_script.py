"""What a whole run by taps meets at which step, and whether the record holds all of it afterwards."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from filmwright.desk.bench import Bench


@dataclass(kw_only=True)
class Script:
    """Which unusual thing happens at which step, by code; a step that is not named is an ordinary one."""

    conflict: str = ""
    offline: tuple[str, ...] = ()
    photo: str = ""
    rework: str = ""
    skip: str = ""
    split: str = ""
    slip: str = ""

    @property
    def unusual(self) -> frozenset[str]:
        """Codes of the steps that are not counted as ordinary."""
        one = (self.conflict, self.photo, self.rework, self.skip, self.split, self.slip)
        return frozenset((*one, *self.offline)) - {""}


def script_of(bench: Bench, lot: str, until: str = "") -> Script:
    """Where in this flow the unusual things happen: each at the first step where it can."""
    steps = list(bench.flow(lot).steps)
    if until:
        steps = steps[: 1 + next(k for k, each in enumerate(steps) if each.code == until)]
    free: list[Any] = [each for each in steps if not each.hold]
    held = [each.code for each in steps if each.hold]

    def first(wanted: Any, *but: str) -> str:
        return next((each.code for each in free if wanted(each) and each.code not in but), "")

    after = next((k for k, each in enumerate(steps) if each.hold), -1) + 1
    away = [each.code for each in steps[after : after + 5] if not each.hold]
    offline = tuple(away) if len(away) > 2 else tuple(each.code for each in free[1:3])
    conflict = first(lambda each: each.kind != "measure", *offline)
    photo = first(lambda each: each.kind == "deposit", *offline, conflict)
    skip = first(lambda each: each.kind == "measure", *offline) or free[-1].code
    split = first(
        lambda each: each.kind in ("anneal", "bake") and "temperature" in each.asked, *offline
    ) or first(lambda each: "time" in each.asked or "thickness" in each.asked, *offline, conflict, photo)
    slip = first(lambda each: "time" in each.asked, *offline, conflict, photo, split)
    return Script(
        conflict=conflict, offline=offline, photo=photo, rework=held[-1] if held else "", skip=skip, split=split,
        slip=slip,
    )  # fmt: skip


def wrong_in(bench: Bench, lot: str, script: Script, until: str = "") -> list[str]:
    """What does not fit in the record; empty when all is well."""
    progress, wrong = bench.progress(lot), []
    if not bench.store.verify(lot).sound:
        wrong.append("the chain is broken")
    events = bench.events(lot)
    codes = {each.number: each.code for each in progress.steps}
    order = [each.number for each in progress.steps]
    if until:
        order = order[: 1 + next(k for k, each in enumerate(order) if codes[each] == until)]
    again = {each.step: each.wafer for each in events if each.kind == "hold" and each.name == "rework"}
    for piece in progress.pieces:
        mine = [each for each in events if each.wafer in ("", piece.name) and each.step]
        last = -1
        for place, number in enumerate(order):
            code, at = codes[number], [k for k, each in enumerate(mine) if each.step == number]
            counted = Counter(mine[k].kind for k in at)
            wanted = ("skip",) if code == script.skip else ("start", "finish")
            most = (
                2
                if any(wafer == piece.name and place <= order.index(step) for step, wafer in again.items())
                else 1
            )
            wrong += [
                f"{code} {piece.name}: {counted[kind]} times {kind}"
                for kind in wanted
                if not 1 <= counted[kind] <= most
            ]
            if at and at[0] < last:
                wrong.append(f"{code} {piece.name} was begun before an earlier step")
            last = at[0] if at else last
            state = progress.cell(piece.name, number).state
            if state not in {"done", "skipped"}:
                wrong.append(f"{code} {piece.name} is {state}")
    for kind, name in (("split", "a split"), ("photo", "a photo"), ("skip", "a step left out")):
        if getattr(script, kind) and not any(each.kind == kind for each in events):
            wrong.append(f"{name} is missing")
    if script.rework and not again:
        wrong.append("the rework is missing")
    if script.conflict and not any(each.kind == "note" and "left aside" in each.text for each in events):
        wrong.append("what the slower tablet had entered is lost")
    return wrong
