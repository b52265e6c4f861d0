"""Sets of different length that a lot's masks hold: contacts and channel from the curves that were kept."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from filmwright.desk.explain import Probed, Story, cause, good, known_of, linear
from filmwright.measure import GatedLengths, Geometry, LengthDevice, Parameter, extract_many, gated_lengths
from filmwright.units import show
from filmwright.wafer import LengthSet, length_sets

FEWEST = 3
"""Measured devices below which a set is not mentioned."""

CORRECTED = "contact_corrected_mobility"
"""What a contact resistance is needed for."""

_CONTACTS = ("contact_resistance", "contact_resistance_as_drawn")
"""What a contact resistance is taken from: with the length offset free where that settles, else with lengths as stated."""


@dataclass(frozen=True, kw_only=True)
class LotSet:
    """One set of different length on one wafer.

    Attributes
    ----------
    wafer, name : str
        The name is that of the devices where they share one, else their width.
    width : float [m]
        As drawn.
    devices : tuple of str
        Measured ones.
    found : GatedLengths or None
    left_out : mapping from device to reason
        Measured, but not fit to take part.
    why_not : str
        Why there is no result.
    """

    wafer: str
    name: str
    width: float
    devices: tuple[str, ...]
    found: GatedLengths | None = None
    left_out: Mapping[str, str] = field(default_factory=dict)
    why_not: str = ""

    @property
    def contact(self) -> Parameter | None:
        """The contact resistance that may be taken off; None where it is a bound or refused."""
        if self.found is None:
            return None
        told = (self.found.parameters[name] for name in _CONTACTS)
        return next((each for each in told if each.valid and each.value is not None), None)


def sets_of(story: Story, threshold: str = "tangent", overdrives: Sequence[float] = ()) -> tuple[LotSet, ...]:
    """Every gated set of the masks of which at least three devices were measured, wafer by wafer.

    Lengths and widths are those as run where they are known, else as planned.
    """
    known = [each for each in length_sets(story.planned.devices) if each.gated]
    by_place = {(each.wafer, each.device): each for each in story.probed}
    found = []
    for wafer in dict.fromkeys(each.wafer for each in story.probed):
        for each in known:
            own = [
                by_place[wafer, name]
                for name in dict.fromkeys(one.name for one in each.members)
                if (wafer, name) in by_place
            ]
            if len(own) >= FEWEST:
                found.append(_of_set(wafer, each, own, threshold, overdrives))
    return tuple(found)


def _of_set(
    wafer: str, drawn: LengthSet, own: Sequence[Probed], threshold: str, overdrives: Sequence[float]
) -> LotSet:
    left_out = {each.device: reason for each in own if (reason := _unfit(each))}
    fit = [each for each in own if each.device not in left_out]
    told = LotSet(
        wafer=wafer,
        name=drawn.name or f"W {show(drawn.width, 'length')}",
        width=drawn.width,
        devices=tuple(each.device for each in own),
        left_out=left_out,
    )
    areal = {known_of(each).areal_capacitance for each in fit}
    try:
        found = gated_lengths(
            [_device(each) for each in fit],
            areal.pop() if len(areal) == 1 else None,
            "constant current" if threshold == "constant current" else "tangent",
            overdrives,
        )
    except ValueError as refusal:
        return replace(told, why_not=str(refusal))
    return replace(told, found=found)


def _unfit(probed: Probed) -> str:
    """Why a device cannot take part; empty where it can."""
    if probed.left_out:
        return f"excluded: {probed.left_out}"
    if not good(probed) or linear(probed) is None:
        return cause(probed) or "no curve at a known drain voltage"
    known = known_of(probed)
    return "" if known.width and known.length else "its width or length is not known"


def _device(probed: Probed) -> LengthDevice:
    known = known_of(probed)
    return LengthDevice(
        name=probed.device,
        sweep=probed.sweeps[linear(probed) or 0],
        length=known.length or math.nan,
        width=known.width or math.nan,
    )


def with_contacts(story: Story, sets: Sequence[LotSet]) -> Story:
    """The story with mobilities corrected for the contacts, where a set on the same wafer told their resistance."""
    told = {
        (each.wafer, name): each.contact
        for each in sets
        for name in each.devices
        if each.contact is not None and name not in each.left_out
    }
    again = [
        (at, place, known)
        for at, each in enumerate(story.probed)
        if (each.wafer, each.device) in told and (place := linear(each)) is not None
        for known in [_with(known_of(each), told[each.wafer, each.device])]
    ]
    if not again:
        return story
    sweeps = [story.probed[at].sweeps[place] for at, place, _ in again]
    results = list(extract_many(sweeps, [known for _, _, known in again]))
    probed = list(story.probed)
    for (at, place, _), result in zip(again, results, strict=True):
        own = list(probed[at].results)
        own[place] = replace(
            own[place], parameters={**own[place].parameters, CORRECTED: result.parameters[CORRECTED]}
        )
        probed[at] = replace(probed[at], results=tuple(own))
    return replace(story, probed=tuple(probed))


def _with(known: Geometry, contact: Parameter | None) -> Geometry:
    assert contact is not None  # only asked for sets that told it
    return replace(known, contact_resistance=contact.value, contact_resistance_std=contact.std)
