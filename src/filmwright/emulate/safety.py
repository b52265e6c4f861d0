"""Cautions of a step, gathered from the facts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from filmwright.emulate.trace import Safety
from filmwright.flow import Step
from filmwright.knowledge import Absence, Book, Exposure
from filmwright.units import write

_IN_WORDS = {
    "acid": "acids",
    "aqueous": "water and all that holds it",
    "hydrogen-bearing plasma": "hydrogen and its compounds",
    "organic": "anything organic",
    "oxidiser": "oxidisers",
    "solvent": "solvents",
    "strong acid": "strong acids",
    "strong alkali": "strong alkalis",
}
"""Families of media as the sheet calls them; others are called by their own name."""

_OF_GAS = " gas"
"""How the keys of hazards end that belong to a gas, wherever it is let in."""


def safety_of(hazards: Iterable[str], facts: Book, gases: Iterable[str] = (), spent: str = "") -> Safety:
    """What is printed at the step; the site's procedure always goes first.

    Parameters
    ----------
    hazards : iterable of str
        Keys of the facts' hazards.
    facts : Book
    gases : iterable of str
        Names of substances that are let in.
    spent : str
        What the bath holds afterwards.
    """
    let_in = [facts.substances[name] for name in dict.fromkeys(gases) if name in facts.substances]
    found = [facts.hazard(key) for key in dict.fromkeys(hazards)]
    families = [family for hazard in found for family in sorted(hazard.never_with)]
    apart = [_IN_WORDS.get(family, family) for family in families]
    apart += [_IN_WORDS.get(each, each) for gas in let_in for each in gas.never_with]
    return Safety(
        cautions=tuple(dict.fromkeys(line for hazard in found for line in hazard.cautions)),
        gear=tuple(dict.fromkeys(item for hazard in found for item in hazard.gear)),
        waste="; ".join(
            dict.fromkeys([*(hazard.waste for hazard in found if hazard.waste), *([spent] if spent else [])])
        ),
        second_person=any(hazard.second_person for hazard in found),
        interlock="; ".join(dict.fromkeys(hazard.interlock for hazard in found if hazard.interlock)),
        neighbours=tuple(dict.fromkeys(apart)),
        alarms=tuple(
            dict.fromkeys(_alarm(gas.name, gas.alarm) for gas in let_in if not isinstance(gas.alarm, Absence))
        ),
    )


_OF_KIND: Mapping[str, str] = {
    "dehydrate": "hot plate",
    "prime": "adhesion promoter",
    "coat": "photoresist",
    "bake": "hot plate",
    "expose": "ultraviolet exposure",
    "reversal bake": "hot plate",
    "flood expose": "ultraviolet exposure",
    "post-exposure bake": "hot plate",
    "hard bake": "hot plate",
    "anneal": "hot plate",
    "probe": "high voltage probing",
}
"""Hazards that belong to a kind of step, whatever it is done with."""


def safety_unwalked(step: Step, facts: Book) -> Safety:
    """What is printed at a step as far as it follows from its kind, chemicals, gases and method alone: before anything is walked.

    Walked, a step may add what its bath holds afterwards.

    Parameters
    ----------
    step : Step
    facts : Book
    """
    gases = gases_of(step, facts)
    keys = [_OF_KIND.get(step.kind, "")]
    if step.kind == "deposit":
        keys.append(facts.method(step.method).hazard)
    elif step.kind != "anneal" and step.medium in facts.media:
        keys.append(facts.medium(step.medium).hazard)
    of_gas = hazards_of_gases(gases, facts) if step.kind == "anneal" else ()
    return safety_of((*filter(None, keys), *of_gas), facts, gases)


def _alarm(gas: str, level: Exposure) -> str:
    """The level in words; of a gas that displaces or enriches air it is the oxygen of the room that is watched."""
    at = write(level.value, level.unit)
    if level.what.startswith(_ROOM):
        return f"{_ROOM} {'above' if 'high' in level.what else 'below'} {at}"
    return f"{gas} {at}" if level.what.startswith("usual") else f"{gas} {at} ({level.what})"


_ROOM = "oxygen in the room"


def gases_of(step: Step, facts: Book) -> tuple[str, ...]:
    """Gases that a step lets in: those of its plasma, method or atmosphere.

    Parameters
    ----------
    step : Step
    facts : Book
    """
    if step.kind == "deposit":
        method = facts.method(step.method)
        flows = [name.removesuffix(" flow") for name in method.settings if name.endswith(" flow")]
        return tuple(dict.fromkeys([*flows, *sorted(method.families & set(facts.substances))]))
    if step.kind == "anneal":
        return tuple(name for name in facts.substances if name in step.medium.split())
    medium = facts.media.get(step.medium)
    return medium.gases if medium is not None else ()


def hazards_of_gases(gases: Iterable[str], facts: Book) -> tuple[str, ...]:
    """Hazards that belong to gases themselves, wherever they are let in.

    Parameters
    ----------
    gases : iterable of str
    facts : Book
    """
    wanted = set(gases)
    return tuple(
        key
        for key, hazard in facts.hazards.items()
        if key.endswith(_OF_GAS) and wanted & set(hazard.substances)
    )
