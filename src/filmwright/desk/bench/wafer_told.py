"""From a walked wafer to what its page tells: sections, films with what they lost, what lies open, colours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from filmwright.desk.bench.as_run import AsRunWafer, FilmLoss, FilmNow, Moment, Place
from filmwright.desk.bench.pictures import Pictures
from filmwright.desk.bench.walks import Told
from filmwright.emulate import (
    NOMINAL,
    Look,
    State,
    Walked,
    colours_in_words,
    film_results,
    looks_of,
    trace_of,
)
from filmwright.flow import LOGGED, SPREAD, Step
from filmwright.units import convert, plain, show, write
from filmwright.wafer import FENCE, Coat, Column, Grow, Plan

_T = TypeVar("_T")

_SHARE = 1e-3
"""Kinds of place that cover less of the die than this are not listed."""

_KINDS = {
    "transistor": "transistors",
    "resistor": "resistors",
    "cross": "crosses",
    "film": "films between contacts",
    "capacitor": "capacitors",
    "track": "tracks",
}


class WafersTold:
    """Tells wafers and remembers moments: what did not change since the last time is not told anew. For one thread."""

    def __init__(self, pictures: Pictures) -> None:
        self.pictures = pictures
        self.looks: dict[int, tuple[Plan, Look]] = {}
        self._moments: dict[int, tuple[State, Moment]] = {}
        self._devices: tuple[Plan | None, tuple[str, ...]] = (None, ())

    def told(self, found: Told, wafer: str, stamp: tuple[int, ...], whole: bool = True) -> AsRunWafer:
        """A wafer as it is and was.

        Parameters
        ----------
        found : Told
        wafer : str
        stamp : tuple of int
            As of :meth:`Bench.stamp`.
        whole : bool
            Whether every section is drawn and devices are read off; else the last section is drawn, and those drawn before are there.
        """
        walked, life = found.walked, found.life
        states = walked.states[: life.done]
        looks = self.seen(walked, states)
        losses: dict[str, tuple[FilmLoss, ...]] = {}
        born = {layer.film: ("", layer.thickness, False) for layer in walked.start.plan.columns[0].layers[1:]}
        moments = [self._bought(found, looks[0], born)]
        fresh: dict[int, tuple[State, Moment]] = {}
        for k, state in enumerate(states):
            _remember(state, losses, born)
            known = self._moments.get(id(state))
            if known is None:
                draw = whole or k == len(states) - 1
                moment = self._moment(found, k, state, looks[k + 1], losses, born, draw)
            else:
                moment = known[1]
            if moment.drawn:
                fresh[id(state)] = (state, moment)
            untold = k in life.untold
            running = bool(state.step.started and not state.step.finished) and k == len(states) - 1
            moments.append(replace(moment, place=k + 1, told=not untold, running=running))
        self._moments = {**_newest(self._moments), **fresh}
        history, devices = life.history, self._devices_of(walked, len(states), whole)
        return AsRunWafer(
            lot=found.lot.name,
            wafer=wafer,
            position=stamp[0],
            stamp=stamp,
            drawn=devices is not None and all(each.drawn for each in moments),
            title=found.work.flow.title,
            cut=found.planned.cut if found.planned is not None else "",
            moments=tuple(moments),
            devices=devices or (),
            problems=life.problems,
            finished=history.finished,
            invented=found.lot.invented,
        )

    def seen(self, walked: Walked, states: Sequence[State]) -> list[Look]:
        """How the die looked as bought and after each state; plans that were seen before are not looked at again."""
        plans = [walked.start.plan, *(state.wafer.plan for state in states)]
        missing = [plan for plan in plans if id(plan) not in self.looks]
        if missing:
            own = {film: each.value for film, each in film_results(states, "refractive index").items()}
            for plan, look in zip(missing, looks_of(missing, own=own), strict=True):
                self.looks[id(plan)] = (plan, look)
        found = [self.looks[id(plan)][1] for plan in plans]
        self.looks = _newest(self.looks)
        return found

    def _bought(self, found: Told, look: Look, born: Mapping[str, tuple[str, float, bool]]) -> Moment:
        start = found.walked.start
        return Moment(
            place=0,
            title="As bought",
            section=self.pictures.alone(found.planned, start.section, "As bought") if found.planned else "",
            changed=True,
            drawn=found.planned is not None,
            films=_films(start.plan, {}, born),
            places=_places(look),
            colours=colours_in_words(look),
        )

    def _moment(
        self,
        found: Told,
        k: int,
        state: State,
        look: Look,
        losses: Mapping[str, tuple[FilmLoss, ...]],
        born: Mapping[str, tuple[str, float, bool]],
        draw: bool,
    ) -> Moment:
        step, before = state.step, found.walked.before(k)
        title = f"After {step.told} {step.title}"
        after = state.wafer.section
        cut = found.planned
        drawn = self.pictures.after(cut, before.section, after, title) if draw and cut is not None else None
        picture, changed = drawn or ("", self.pictures.differ(before.section, after))
        unknown = tuple(f"nothing is on file of {each} in {step.medium}" for each in state.unknown)
        return Moment(
            place=k + 1,
            step=step.number,
            code=step.code,
            title=step.title,
            kind=step.kind,
            lot=step.lot,
            visit=step.visit,
            started=step.started,
            finished=step.finished,
            values=values_of(state),
            section=picture,
            changed=changed,
            drawn=drawn is not None,
            films=_films(state.wafer.plan, losses, born),
            places=_places(look),
            colours=colours_in_words(look),
            warnings=(*state.warnings, *unknown, *(f"left behind: {each}" for each in state.torn)),
        )

    def _devices_of(self, walked: Walked, done: int, read: bool) -> tuple[str, ...] | None:
        """Devices in words; None where they are not known yet and not to be read off now, which takes as long as a walk."""
        if walked.drawing is None or not any(state.actions for state in walked.states[:done]):
            return ()
        plan = walked.states[done - 1].wafer.plan
        if self._devices[0] is not plan and not read:
            return None
        if self._devices[0] is not plan:
            counts: dict[str, int] = {}
            for device in trace_of(replace(walked, states=walked.states[:done])).devices.found:
                counts[device.kind] = counts.get(device.kind, 0) + 1
            words = tuple(
                f"{count} {_KINDS.get(kind, kind) if count > 1 else kind}" for kind, count in counts.items()
            )
            self._devices = (plan, words)
        return self._devices[1]


def _newest(known: dict[int, _T], most: int = 600) -> dict[int, _T]:
    """The last ones of what is remembered."""
    return known if len(known) <= most else dict(list(known.items())[-most:])


def _remember(
    state: State,
    losses: dict[str, tuple[FilmLoss, ...]],
    born: dict[str, tuple[str, float, bool]],
) -> None:
    """Add what a step put down and took."""
    step = state.step
    for action in state.actions:
        if isinstance(action, Grow | Coat):
            born[action.film] = (step.code, action.thickness, "thickness" in step.measured)
    die = sum(state.wafer.plan.areas().values())
    taken: dict[str, list[tuple[float, float, float]]] = {}
    for loss in state.losses.get(NOMINAL.name, ()):
        if loss.where in {"open", "floated"}:
            left = loss.after if loss.where == "open" else 0.0
            taken.setdefault(loss.film, []).append((loss.taken, left, loss.area))
    for film, each in taken.items():
        stays = [amount for amount, left, _ in each if left > 0 and amount > 0]
        cleared = sum(area for _, left, area in each if left <= 0)
        if not stays and not cleared:
            continue
        told = FilmLoss(
            step=step.number,
            code=step.code,
            title=step.title,
            visit=step.visit,
            by=step.medium or step.title,
            low=convert(min(stays, default=0.0), "nm"),
            high=convert(max(stays, default=0.0), "nm"),
            cleared=min(cleared / die, 1.0) if die else 0.0,
        )
        losses[film] = (*losses.get(film, ()), told)


def _films(
    plan: Plan, losses: Mapping[str, tuple[FilmLoss, ...]], born: Mapping[str, tuple[str, float, bool]]
) -> tuple[FilmNow, ...]:
    """The films on the die, the lowest first."""
    areas = plan.areas()
    die = sum(areas.values())
    found: dict[str, list[tuple[float, float, bool]]] = {}
    order: dict[str, tuple[int, str]] = {}
    for column, area in areas.items():
        for layer in column.layers[1:]:
            found.setdefault(layer.film, []).append((layer.thickness, area, FENCE in layer.marks))
            order[layer.film] = (layer.born, layer.material)
    rows = []
    for film, lying in sorted(found.items(), key=lambda each: order[each[0]][0]):
        flat = [each for each in lying if not each[2]] or lying
        step, put_down, measured = born.get(film, ("", max(each[0] for each in flat), False))
        rows.append(
            FilmNow(
                film=film,
                material=order[film][1],
                from_step=step,
                put_down=convert(put_down, "nm"),
                low=convert(min(each[0] for each in flat), "nm"),
                high=convert(max(each[0] for each in flat), "nm"),
                share=sum(each[1] for each in flat) / die if die else 0.0,
                measured=measured,
                losses=losses.get(film, ()),
            )
        )
    return tuple(rows)


def _places(look: Look) -> tuple[Place, ...]:
    die = sum(seen.area for seen in look.seen)
    ranked = sorted(look.seen, key=lambda seen: -seen.area)
    return tuple(
        Place(
            material=seen.column.top.material,
            area=convert(seen.area, "mm^2"),
            share=seen.area / die,
            colour=seen.hex,
            name=seen.name,
            films=_stack(seen.column),
        )
        for seen in ranked
        if die and seen.area >= _SHARE * die
    )


def _stack(column: Column) -> tuple[str, ...]:
    body, *films = column.layers
    return (body.material, *(f"{layer.material} {show(layer.thickness, 'length')}" for layer in films))


def values_of(state: State) -> tuple[str, ...]:
    """What was set, and what was seen or measured, in words with units."""
    units = {each.name: each.unit for each in state.settings if each.value is not None}
    step = state.step
    return (
        *(f"set {text}" for text in _in_words(step, step.done, units)),
        *(f"found {text}" for text in _in_words(step, step.measured, units)),
    )


def _in_words(step: Step, values: Mapping[str, float], units: Mapping[str, str]) -> list[str]:
    found = []
    for name, value in values.items():
        if name.endswith(SPREAD):
            continue
        unit, spread = units.get(name, ""), values.get(name + SPREAD)
        text = write(value, unit) if unit else show(value, LOGGED.get(name, "length"))
        if spread is not None:
            text += f" ± {plain(spread, unit):.2g}" if unit else f" ± {show(spread, 'length')}"
        found.append(f"{name} {text}")
    return found
