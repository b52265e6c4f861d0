"""What may stand at a place of a plan text: keys from the grammar, names from the facts, the lab file and the plan itself."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import get_args

from filmwright.flow.grammar import (
    COMMON,
    CUT,
    DEVICES,
    EXPECT,
    FILM,
    MASK,
    MASKS,
    OBJECT,
    PLAN,
    SOURCE,
    STEPS,
    WAFER,
    Key,
)
from filmwright.flow.steps import MEDIA_OF
from filmwright.flow.typed import ITEM, Typed, keys_under, typed_at
from filmwright.flow.types import DischargeMode
from filmwright.knowledge import Lab, Medium, UnknownName, book, readings
from filmwright.units import DIMENSIONS

_NUMBER = re.compile(r"(?:^|.*±)\s*[+-]?(?P<number>\d[\d.]*)\s*(?P<unit>[^\s\d±]*)$")
_BLOCKS: Mapping[tuple[str, ...], Mapping[str, Key]] = {
    (): PLAN,
    ("wafer",): WAFER,
    ("wafer", "films", ITEM): FILM,
    ("masks",): MASKS,
    ("masks", "*"): MASK,
    ("cuts", "*"): CUT,
    ("steps", ITEM, "sources", ITEM): SOURCE,
    ("expect",): EXPECT,
    ("expect", "transistors"): DEVICES,
    ("expect", "capacitors"): DEVICES,
}
_WORDS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "drawn": (
        ("opaque", "what is drawn is metal on the plate"),
        ("clear", "what is drawn is a window in the metal"),
    ),
    "shape": (("round", "a whole wafer"), ("piece", "a piece has a higher bead of resist at its edges")),
    "orientation": (
        ("(100)", "plane of the wafer's face"),
        ("(111)", "plane of the wafer's face"),
        ("(110)", "plane of the wafer's face"),
    ),
    "until": (
        ("end point + 25 %", "watch for the end, then go on for a quarter of the time it took"),
        ("measure", "measure first, then compute the time"),
    ),
    "strip": (("resist", "what the last pattern left"),),
    "lift off": (("resist", "with the film that lies on it"),),
    "probe": (("transistors", "all that are found on the die"), ("capacitors", "all that are found")),
    "anneal": (
        ("air", "the atmosphere"),
        ("nitrogen", "the atmosphere"),
        ("oxygen", "the atmosphere"),
        ("vacuum", "the atmosphere"),
    ),
}


@dataclass(frozen=True, kw_only=True)
class Offer:
    """One thing that may stand at a place.

    Attributes
    ----------
    text : str
        What is put in.
    gloss : str
        What it means, short.
    kind : str
        ``key``, ``name``, ``word`` or ``unit``.
    """

    text: str
    gloss: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class Completion:
    """What may stand at a place, the likeliest first.

    Attributes
    ----------
    line, start, end : int
        What is replaced: from the column ``start`` up to before ``end``, counted from 1.
    offers : tuple of Offer
    of : str
        What is being written, in words.
    """

    line: int
    start: int
    end: int
    offers: tuple[Offer, ...]
    of: str = ""


@dataclass(frozen=True, kw_only=True)
class Names:
    """Names that a plan may use besides those of the facts.

    Attributes
    ----------
    lab : Lab
    drawings : tuple of str
        Files that lie beside the plan.
    devices : tuple of str
        Labels of the drawing.
    rules : mapping from rule to its meaning
    """

    lab: Lab = field(default_factory=lambda: Lab(name=""))
    drawings: tuple[str, ...] = ()
    devices: tuple[str, ...] = ()
    rules: Mapping[str, str] = field(default_factory=dict)


def complete(text: str, line: int, column: int, names: Names) -> Completion:
    """What may stand at a place of a plan text; nothing within a comment or where anything may be written.

    Parameters
    ----------
    text : str
    line, column : int
        Of the cursor, counted from 1.
    names : Names
    """
    typed = typed_at(text, line, column)
    if typed is None:
        return Completion(line=line, start=column, end=column, offers=())
    found, of = _offers(typed, text, names)
    start, word = min(typed.start, column), typed.word
    unit = _NUMBER.match(word) if typed.key and found and found[0].kind == "unit" else None
    if unit is not None:
        word, start = unit["unit"], column - len(unit["unit"])
    return Completion(line=line, start=start, end=column, offers=_fitting(found, word), of=of)


def _fitting(found: Iterable[Offer], word: str) -> tuple[Offer, ...]:
    """Those that begin with what was typed, then those of which a word does, then those that hold it."""
    asked = word.strip().lower()
    ranked = []
    for place, each in enumerate(found):
        low = each.text.lower()
        if low == asked:
            continue
        if low.startswith(asked):
            rank = 0
        elif any(part.startswith(asked) for part in re.split(r"[\s-]+", low)):
            rank = 1
        elif asked in low or (len(asked) > 1 and asked in each.gloss.lower()):
            rank = 2
        else:
            continue
        ranked.append((rank, place, each))
    return tuple(each for *_, each in sorted(ranked, key=lambda one: one[:2]))


def _offers(typed: Typed, text: str, names: Names) -> tuple[list[Offer], str]:
    if typed.key:
        return _values(typed, text, names)
    if typed.path == ("steps", ITEM) and not any(verb in typed.beside for verb in STEPS):
        verbs = [Offer(text=f"{verb}: ", gloss=f"a step; then {OBJECT[verb]}", kind="key") for verb in STEPS]
        return verbs, "what is done"
    if typed.path == ("steps",) and not typed.item:
        return [Offer(text="- ", gloss="begins a step", kind="word")], "a step"
    if typed.path == ("steps", ITEM, "accept"):
        rules = [Offer(text=f"{rule}: ", gloss=means, kind="key") for rule, means in names.rules.items()]
        return rules, "the finding that is accepted; write the reason behind it"
    if typed.path == ("expect", "keep"):
        return _keyed(_materials()), "a film that must survive"
    if typed.path in {("expect", "apart"), ("expect", "joined")}:
        return [], "a pair of terminals"
    grammar = _grammar(typed)
    keys = [
        Offer(text=f"{name}: ", gloss=key.means + ("; needed" if key.required else ""), kind="key")
        for name, key in sorted(grammar.items(), key=lambda one: not one[1].required)
        if name not in typed.beside
    ]
    return keys, "a key"


def _grammar(typed: Typed) -> Mapping[str, Key]:
    if typed.path == ("steps", ITEM):
        verb = next((each for each in typed.beside if each in STEPS), "")
        return {**STEPS.get(verb, {}), **COMMON} if verb else {}
    return _block(typed.path)


def _block(path: tuple[str, ...]) -> Mapping[str, Key]:
    if path in _BLOCKS:
        return _BLOCKS[path]
    return _BLOCKS.get((*path[:-1], "*"), {}) if path else {}


def _values(typed: Typed, text: str, names: Names) -> tuple[list[Offer], str]:
    key = typed.key
    in_step = typed.path == ("steps", ITEM)
    if typed.path == ("expect", "keep"):
        return _quantity("fraction", typed.word), f"how much of {key} must be left"
    if typed.path == ("expect",) and key == "present":
        return _materials(), "materials that must be there"
    verb = next((each for each in (key, *typed.beside) if each in STEPS), "") if in_step else ""
    rule = (
        Key("text", OBJECT[key])
        if in_step and key == verb
        else (STEPS.get(verb, {}) | COMMON if in_step else _block(typed.path)).get(key)
    )
    if rule is None:
        return [], ""
    if rule.takes == "quantity":
        return _quantity(rule.dimension, typed.word), f"{rule.means} ({rule.dimension})"
    if rule.takes == "yes or no":
        return [Offer(text=word, gloss="", kind="word") for word in ("yes", "no")], rule.means
    if in_step and verb:
        named = _of_step(key, verb, typed, text, names)
        if named:
            return named, rule.means
    named = _of_block(key, typed, names) if not in_step else []
    return named or [
        Offer(text=word, gloss=gloss, kind="word") for word, gloss in _WORDS.get(key, ())
    ], rule.means


def _of_step(key: str, verb: str, typed: Typed, text: str, names: Names) -> list[Offer]:
    target = typed.beside.get(verb, "")
    if key == "pattern" or key == "align to" or (key == "of" and target in ("line width", "overlay")):
        levels = [name for name in keys_under(text, "masks") if name not in MASKS]
        return [Offer(text=name, gloss="a mask level of this plan", kind="name") for name in levels]
    if key in {"deposit", "etch", "of"}:
        return _materials()
    if key == "tool":
        return [Offer(text=t.name, gloss=", ".join(t.does), kind="name") for t in names.lab.tools.values()]
    if key == "recipe":
        return _recipes(typed.beside.get("tool", ""), names.lab)
    simple: Mapping[str, Callable[[], list[Offer]]] = {
        "measure": lambda: [
            Offer(
                text=each.name, gloss=f"{each.places}{f', in {each.unit}' if each.unit else ''}", kind="name"
            )
            for each in readings().values()
        ],
        "method": lambda: [
            Offer(text=each.name, gloss=_listed(each.settings, "sets "), kind="name")
            for each in book().methods.values()
        ],
        "resist": lambda: [
            Offer(text=each.name, gloss=f"{each.tone}; developer {each.developer}", kind="name")
            for each in book().resists.values()
        ],
        "developer": lambda: _media(frozenset({"developer"}), ""),
        "place": lambda: [
            Offer(text="open field", gloss="where nothing is drawn", kind="word"),
            *(Offer(text=name, gloss="a device of the drawing", kind="name") for name in names.devices),
        ],
    }
    if key in simple:
        return simple[key]()
    kinds = MEDIA_OF.get((verb, key))
    return _media(kinds, target if verb == "etch" else "") if kinds else []


def _of_block(key: str, typed: Typed, names: Names) -> list[Offer]:
    if key in {"material", "target", "body"}:
        return _materials("substrate" if key == "body" else "")
    if key == "drawing":
        return [Offer(text=name, gloss="lies beside the plan", kind="name") for name in names.drawings]
    if key in {"through", "across"}:
        return [Offer(text=name, gloss="a device of the drawing", kind="name") for name in names.devices]
    if key == "mode":
        return [
            Offer(text=mode, gloss="how its target burns", kind="word") for mode in get_args(DischargeMode)
        ]
    return []


def _recipes(tool: str, lab: Lab) -> list[Offer]:
    tools = [lab.tools[tool]] if tool in lab.tools else list(lab.tools.values())
    return [
        Offer(
            text=recipe.name,
            gloss=" · ".join(filter(None, (each.name, recipe.material, recipe.medium, recipe.note))),
            kind="name",
        )
        for each in tools
        for recipe in each.recipes.values()
    ]


def _materials(first: str = "") -> list[Offer]:
    """Every material with its sign; those of a kind first."""
    found = sorted(
        book().materials.values(), key=lambda each: (bool(first) and each.kind != first, each.name)
    )
    return [Offer(text=each.name, gloss=f"{each.symbol}, {each.kind}", kind="name") for each in found]


def _media(kinds: frozenset[str], attacked: str) -> list[Offer]:
    """Baths or plasmas; with a film, those that are known to attack it first."""
    media = [each for each in book().media.values() if each.kind in kinds]
    name = _resolved(attacked)
    order = {"attacks": 0, "unknown": 1, "does not attack": 2}
    ranked = sorted(
        media,
        key=lambda each: (order[each.rate(name).verdict] if name else 0, "etch" not in each.kind, each.name),
    )
    return [Offer(text=each.name, gloss=_gloss(each, name), kind="name") for each in ranked]


def _resolved(material: str) -> str:
    try:
        return book().material(material).name if material else ""
    except UnknownName:
        return ""


def _gloss(medium: Medium, attacked: str) -> str:
    if not attacked:
        return medium.kind
    verdict = medium.rate(attacked).verdict
    said = f"what it does to {attacked} is not known" if verdict == "unknown" else f"{verdict} {attacked}"
    return f"{medium.kind}; {said}"


def _keyed(found: Iterable[Offer]) -> list[Offer]:
    return [Offer(text=f"{each.text}: ", gloss=each.gloss, kind="key") for each in found]


def _listed(words: Iterable[str], before: str) -> str:
    told = ", ".join(words)
    return f"{before}{told}" if told else ""


def _quantity(dimension: str, word: str) -> list[Offer]:
    """Units behind a number; before one, how a person writes it."""
    dim = DIMENSIONS[dimension]
    if _NUMBER.match(word):
        first = "%" if "±" in word else dim.example.split(" ", 1)[-1]
        units = dict.fromkeys(unit for unit in (first, *dim.shown) if unit and not unit[0].isdigit())
        gap = " " if word[-1].isdigit() else ""
        return [Offer(text=f"{gap}{unit}", gloss=dimension, kind="unit") for unit in units]
    return [Offer(text=dim.example, gloss=f"how a {dimension} is written", kind="word")]
