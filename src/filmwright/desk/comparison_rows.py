"""A comparison in words, rows of a page and fields: what lies between plan, run and measurement, and what cannot be told."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from filmwright.desk.comparison import UNITS, Case, explained, of_lot, of_wafers
from filmwright.desk.comparison_fit import CHARGE, MOBILITY, ON, TRAPS
from filmwright.desk.explain import Probed, Story, shared_out
from filmwright.learn import ITSELF, Z95, Explanation
from filmwright.outputs import ComparisonRow, Estimate, PlainTable
from filmwright.units import plain, pretty, show, write

_NOISE = "cannot tell"
FIT_UNITS = {
    CHARGE: ("1/cm^2", "electron charges per cm²"),
    MOBILITY: ("cm^2/(V*s)", "cm²/(V·s)"),
    TRAPS: ("1/(cm^2*eV)", "1/(cm²·eV)"),
}
"""Unit of what was fitted, for programs and in words."""
_SETTLES = {
    CHARGE: "a sweep that goes further below threshold",
    MOBILITY: "contact resistance from a gated set of lengths",
    TRAPS: "a finer sweep around threshold with a lower floor",
}

_POSITIVE = frozenset({TRAPS, MOBILITY})


@dataclass(frozen=True, kw_only=True)
class Told:
    """What is known of one lot.

    Attributes
    ----------
    device : Case or None
        The chosen device; None where it is not predicted by the states of its film.
    wafers : tuple of Case
    lot : mapping from number to Explanation
        Over the wafers.
    plain : Explanation or None
        The on current by the compact law, where the physical one is not to be had.
    """

    device: Case | None = None
    wafers: tuple[Case, ...] = ()
    lot: Mapping[str, Explanation] = field(default_factory=dict)
    plain: Explanation | None = None

    @property
    def on_current(self) -> Explanation | None:
        """Of the chosen device."""
        if self.device is not None and ON in self.device.found:
            return self.device.found[ON].explanation
        return self.plain


_last: list[tuple[Story, Probed, Told]] = []


def told(story: Story, chosen: Probed | None) -> Told:
    """The chosen device and the medians of the wafers shared out; kept for the story that was asked for last."""
    if chosen is None:
        return Told()
    for known, device, found in _last:
        if known is story and device is chosen:
            return found
    case = explained(chosen)
    wafers = of_wafers(story.probed, chosen, case) if case is not None else ()
    found = Told(
        device=case,
        wafers=wafers,
        lot=of_lot(wafers),
        plain=shared_out(chosen) if case is None else None,
    )
    _last[:] = [(story, chosen, found)]
    return found


def rows_of(found: Told, chosen: Probed) -> tuple[ComparisonRow, ...]:
    """Every number of the chosen device and of the lot in three columns, with the shares and the rest."""
    if found.device is None:
        own = found.plain
        return () if own is None else (_row(ON, f"{ON} of {chosen.device} ({chosen.wafer})", own),)
    rows = [
        _row(name, f"{name} of {found.device.name}", each.explanation)
        for name, each in found.device.found.items()
    ]
    count = len(found.wafers)
    if count > 1:
        rows += [
            _row(name, f"{name}, {count} wafers, of each the device in the middle", each)
            for name, each in found.lot.items()
        ]
    return tuple(rows)


def _row(name: str, title: str, found: Explanation) -> ComparisonRow:
    unit = _unit(name, found)

    def estimate(label: str, value: float, low: float | None = None, high: float | None = None) -> Estimate:
        return Estimate(name=label, unit=unit, value=value, low=low, high=high)

    half = Z95 * found.measured_std
    shares = []
    for share in found.shares:
        label = f"{share.name} ({_NOISE})" if share.within_noise else share.name
        shares.append((label, estimate(share.name, share.amount, share.low, share.high)))
    rest = estimate("rest", found.rest.amount, found.rest.low, found.rest.high)
    return ComparisonRow(
        name=title + (" per decade" if UNITS.get(name, "").endswith("/decade") else ""),
        planned=estimate("as planned", found.planned),
        as_run=estimate("as run", found.as_run),
        measured=estimate("measured", found.measured, found.measured - half, found.measured + half),
        shares=tuple(shares),
        rest=rest,
    )


def _unit(name: str, found: Explanation) -> str:
    if name == ON:
        return show(max(abs(found.measured), abs(found.planned)), "current").split(" ")[-1]
    return UNITS[name].replace("/decade", "")


def notes_of(found: Told) -> tuple[str, ...]:
    """What took the place of the plan, what would shrink the rests most, and what cannot be told."""
    case = found.device
    if case is None:
        return ()
    notes = []
    sizes = [
        f"{name} {show(planned, 'length')} → {show(run, 'length')}"
        for name, planned, run in case.replaced
        if (name.startswith("thickness") or name in ("width", "length"))
        and show(planned, "length") != show(run, "length")
    ]
    if sizes:
        notes.append(f"What was run or measured replaces what was planned: {'; '.join(sizes)}.")
    unlike = [name for name, each in case.found.items() if each.explanation.rest.within_noise]
    if unlike:
        notes.append(
            f"{case.name}: the rest of {', '.join(unlike)} lies inside its band, so {_NOISE} whether anything is missing."
        )
    firsts: dict[str, list[str]] = {}
    for name, each in case.found.items():
        first = next(iter(each.contributions.items()), None)
        if first is not None:
            left = f"± {_value(name, Z95 * first[1], each.explanation)} of the {name}"
            firsts.setdefault(first[0], []).append(left)
    aim = "To shrink the rest most" if case.missed else "To tell the causes apart best"
    notes += [
        f"{aim}, measure the {'curve again' if what == ITSELF else what}: alone it leaves {', '.join(left)}."
        for what, left in firsts.items()
    ]
    return (*notes, *_of_fit(found))


def untold(found: Told) -> tuple[tuple[str, str], ...]:
    """What the fit behind the shares leaves open, and what would settle it."""
    case = found.device
    if case is None:
        return ()
    if case.missed:
        return (
            (
                f"why {case.name} differs from what was run: the fitted physical model misses {case.missed}",
                "contact resistance from a gated set of lengths; capacitance against voltage",
            ),
        )
    return tuple(
        (f"{name} of {case.name}: not identifiable from its curve", _SETTLES[name])
        for name, (_, _, std) in case.fitted.items()
        if not math.isfinite(std)
    )


def _of_fit(found: Told) -> list[str]:
    """What the fit behind the shares says, and where it says nothing."""
    cases = [each for each in (found.device, *found.wafers) if each is not None]
    names = {case.name: case.missed for case in cases if case.missed}
    notes = [
        f"{name}: {_NOISE} what threshold charge, traps and mobility share: the physical model with the three fitted misses {missed}. "
        "All that was not run otherwise is left in the rest."
        for name, missed in names.items()
    ]
    case = found.device
    if case is None or case.missed:
        return notes
    told = [_fitted_words(name, each) for name, each in case.fitted.items()]
    return [
        *notes,
        f"Threshold charge, traps and mobility were fitted to the whole transfer curve of {case.name} with the physical model: "
        f"{'; '.join(told)}. Threshold, mobility and swing are read off measured and predicted curves by the same definitions.",
    ]


def _fitted_words(name: str, fit: tuple[float, float, float]) -> str:
    unit, what = FIT_UNITS[name]
    on_file, value, std = (plain(each, unit) if math.isfinite(each) else each for each in fit)
    if not math.isfinite(std):
        return f"{name} not identifiable from this curve"
    return f"{name} {value:.3g} ± {Z95 * std:.2g} {what} ({on_file:.3g} on file)"


def _value(name: str, value: float, found: Explanation) -> str:
    if name == ON:
        return show(value, "current")
    per = " per decade" if UNITS[name].endswith("/decade") else ""
    return write(float(f"{value:.2g}"), _unit(name, found)) + per


def fit_table(found: Told) -> PlainTable | None:
    """What the physical model was fitted to in the curve of the chosen device, beside what is on file."""
    case = found.device
    if case is None:
        return None
    rows = []
    for name, (on_file, fitted, std) in case.fitted.items():
        unit, _ = FIT_UNITS[name]

        def text(value: float, unit: str = unit) -> str:
            return f"{plain(value, unit):.3g}".replace("-", "−")

        low, high = text(fitted - Z95 * std), text(fitted + Z95 * std)
        span = f"{low} to {high}" if math.isfinite(std) and std > 0 else "the curve does not tell it"
        if math.isfinite(std) and name in _POSITIVE and 0 < fitted <= Z95 * std:
            span = f"at most {high}, not distinguishable from zero"
        rows.append((f"{name} [{pretty(unit)}]", text(on_file), text(fitted), span))
    return PlainTable(
        title=f"Fit of the physical model to the whole transfer curve of {case.name}",
        heads=("parameter", "on file", "fitted", "95 % interval"),
        rows=tuple(rows),
        notes=(
            *(
                (f"The fitted curve misses {case.missed}: what was fitted is then no cause.",)
                if case.missed
                else ()
            ),
            "Everything else is held at what was run or is on file; what that may be off by and the noise make the intervals.",
        ),
    )


def fields_of(found: Told) -> tuple[dict[str, Any], ...]:
    """Everything for programs, each number beside its unit."""
    cases = [each for each in (found.device, *found.wafers) if each is not None]
    rows = [
        _fields(case.name, name, each.explanation, each.contributions)
        for case in cases
        for name, each in case.found.items()
    ]
    return (*rows, *(_fields("lot", name, each, {}) for name, each in found.lot.items()))


def _fields(of: str, name: str, found: Explanation, contributions: Mapping[str, float]) -> dict[str, Any]:
    unit = UNITS[name]

    def number(value: float) -> float:
        return float(f"{plain(value, unit.replace('/decade', '')):.6g}")

    return {
        "of": of,
        "number": name,
        "unit": unit,
        "planned": number(found.planned),
        "as_run": number(found.as_run),
        "explained": number(found.explained),
        "measured": number(found.measured),
        "measured_std": number(found.measured_std),
        "shares": [
            {
                "cause": share.name,
                "amount": number(share.amount),
                "low": number(share.low),
                "high": number(share.high),
                "inside_noise": share.within_noise,
            }
            for share in (*found.shares, found.rest)
        ],
        "measure_next": [
            {"what": what, "leaves_std": number(each)} for what, each in list(contributions.items())[:4]
        ],
    }
