"""What a column name means: terminal, quantity, unit, the repeat it belongs to and the bias it names."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from filmwright import units

_NUMBER = r"[+\-−]?\s*(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-]?\d+)?"
_BIAS = re.compile(
    rf"\b[VU]_?\s*\{{?(?P<name>SD|SG|D|DS|G|GS|B|BS|S|drain|gate|bulk|source)\}}?\s*[=:]\s*(?P<value>{_NUMBER})"
    r"\s*(?P<unit>[mkµu]?V)?\b",
    re.IGNORECASE,
)
_UNIT = re.compile(r"^(?P<prefix>[afpnuµμmkMG]?)(?P<base>A|V|F|S|s|Hz|Ohm|ohm|Ω|W)$")
_UNIT_PLACES = (
    r"[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]",
    r"\s*/\s*([A-Za-zµμΩ]+)\s*$",
    r"\bin\s+([A-Za-zµμΩ]+)\s*$",
)
_WORDS = {"volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "farad": "F"}
_TERMINALS = {
    "gate": r"g|gs|gate|gatesource|gatetosource|topgate|backgate|bottomgate|tg|bg|grille|gateelektrode",
    "drain": r"d|ds|drain|drainsource|draintosource|channel",
    "source": r"s|source|ss",
    "bulk": r"b|bs|bulk|body|sub|substrate|well",
}
_CURRENT = r"i|current|curr|strom|courant|amps"
_VOLTAGE = r"v|u|voltage|volt|volts|bias|potential|spannung|tension"
_EXTRA = re.compile(
    r"^(abs|meas|measured|raw|smu|average|avg)|(abs|meas|measured|raw|avg|average|value|set)$"
)
_INDEX = re.compile(r"[(\[_.#\s]\s*(\d+)\s*[)\]]?\s*$|(?<=[A-Za-z])(\d+)$")

ROLES = ("gate_voltage", "drain_voltage", "source_voltage", "bulk_voltage", "drain_current", "gate_current",
         "source_current", "bulk_current", "capacitance", "bias_voltage", "direction", "time", "conductance", "frequency")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column and what its name says.

    Attributes
    ----------
    name : str
        As written.
    role : str
        One of :data:`ROLES`; empty when the name says none of them.
    factor : float
        By which a number is multiplied to be SI in the project's signs.
    unit : str
        As written; empty when none was.
    group : str
        The repeat that it belongs to (``2`` in ``DrainI(2)``); empty when shared.
    biases : mapping from role to float [V]
        Voltages that the name states, e.g. ``ID (VD = 0.1 V)``.
    """

    name: str
    role: str
    factor: float = 1.0
    unit: str = ""
    group: str = ""
    biases: Mapping[str, float] = field(default_factory=dict)


def read_name(name: str) -> Column:
    """What a column name means; the role is empty when it means nothing known.

    Parameters
    ----------
    name : str
        As written in the table.

    Returns
    -------
    Column
    """
    text = re.sub(r"\s+", " ", name.strip().strip("\"'#%")).strip()[:200]
    biases, text = read_biases(text)
    unit, text = _take_unit(text)
    group, text = _take_index(text)
    role, sign = _role(text, unit)
    if not role and biases and not re.sub(r"[^A-Za-z]", "", text):
        role = "drain_current"
    factor = sign * unit_factor(unit) if unit else sign
    return Column(name=name.strip(), role=role, factor=factor, unit=unit, group=group, biases=biases)


def read_biases(text: str) -> tuple[dict[str, float], str]:
    """Voltages stated in a text such as ``VDS = -5 V``, and the text without them."""
    biases: dict[str, float] = {}
    for match in _BIAS.finditer(text):
        short = match["name"].lower()
        terminal = "drain" if short == "sd" else "gate" if short == "sg" else _terminal_of(short)
        number = float(re.sub(r"\s", "", match["value"]).replace("−", "-").replace(",", "."))
        sign = -1.0 if short in ("sd", "sg") else 1.0
        biases[f"{terminal}_voltage"] = sign * number * unit_factor(match["unit"] or "V")
    rest = _BIAS.sub(" ", text) if biases else text
    return biases, re.sub(r"[(\[@,;]\s*[)\]]?\s*$", "", rest.strip()).strip() if biases else text


def _terminal_of(short: str) -> str:
    return next(name for name, words in _TERMINALS.items() if re.fullmatch(words, short))


def is_unit(text: str) -> bool:
    """Whether a cell holds a unit and nothing else, e.g. ``(V)`` or ``nA``."""
    bare = text.strip().strip("()[]").strip()
    return bare.lower() in _WORDS or _UNIT.match(bare) is not None


def unit_factor(unit: str) -> float:
    """The factor to SI of a unit of current, voltage or capacitance as written."""
    match = _UNIT.match(_WORDS.get(unit.lower(), unit))
    if match is None:
        return 1.0
    return prefix_factor(match["prefix"]) if match["prefix"] else 1.0


_PREFIX = {
    "a": units.to_si(1.0, "nm") * units.to_si(1.0, "nm"),
    "f": units.to_si(1.0, "fF"),
    "p": units.to_si(1.0, "pA"),
    "n": units.to_si(1.0, "nA"),
    "u": units.to_si(1.0, "uA"),
    "m": units.to_si(1.0, "mA"),
    "k": units.to_si(1.0, "kW"),
    "M": units.to_si(1.0, "MPa"),
    "G": units.to_si(1.0, "GPa"),
}


def prefix_factor(letter: str) -> float:
    """The factor of an engineering suffix such as ``u`` in ``3.2u``."""
    return _PREFIX[letter.replace("µ", "u").replace("μ", "u")]


def with_unit(column: Column, cell: str) -> Column:
    """The column with the unit that a unit row gives it (kept when its name has one)."""
    bare = cell.strip().strip("()[]").strip()
    if column.unit or not is_unit(bare):
        return column
    unit = _WORDS.get(bare.lower(), bare)
    return Column(
        name=column.name,
        role=column.role,
        factor=column.factor * unit_factor(unit),
        unit=unit,
        group=column.group,
        biases=column.biases,
    )


def _take_unit(text: str) -> tuple[str, str]:
    for pattern in _UNIT_PLACES:
        for match in re.finditer(pattern, text):
            if is_unit(match[1]):
                rest = text[: match.start()] + text[match.end() :]
                return _WORDS.get(match[1].lower(), match[1]), rest.strip()
    return "", text


def _take_index(text: str) -> tuple[str, str]:
    match = _INDEX.search(text)
    if match is None:
        return "", text
    return (match[1] or match[2]).lstrip("0") or "0", text[: match.start()].strip()


def _role(text: str, unit: str) -> tuple[str, float]:
    """The role and the sign that turns the column into the project's convention."""
    letters = re.sub(r"[^a-z]", "", text.lower())
    for _ in range(2):
        letters = _EXTRA.sub("", letters) if len(letters) > 3 else letters
    sign = -1.0 if re.match(r"^\s*[-−]", text) else 1.0
    if re.fullmatch(r"[vu]s[gd]|is[d]", letters):
        kind = "current" if letters[0] == "i" else "voltage"
        return ("gate_" if letters[2] == "g" else "drain_") + kind, -sign
    found = _by_letters(letters) or _by_words(text.lower())
    if found:
        return found, sign
    base = unit[-1:] if unit else ""
    if re.fullmatch(r"c[a-z]{0,3}|capacitance|cap|kapazit.*", letters) and base in ("F", ""):
        return "capacitance", sign
    if re.fullmatch(r"g[a-z]{0,2}|conductance", letters) and base in ("S", ""):
        return "conductance", sign
    if re.fullmatch(r"f|freq|frequency|frequenz", letters) and base in ("z", ""):
        return "frequency", sign
    if re.fullmatch(r"[vu][a-z]{0,3}|voltage|bias(voltage)?", letters) and base in ("V", ""):
        return "bias_voltage", sign
    if re.fullmatch(r"direction|dir|sweepdirection|richtung", letters):
        return "direction", 1.0
    if re.fullmatch(r"t|time|timestamp|zeit|temps", letters):
        return "time", 1.0
    return "", 1.0


def _by_letters(letters: str) -> str:
    for terminal, names in _TERMINALS.items():
        for kind, words in (("current", _CURRENT), ("voltage", _VOLTAGE)):
            if re.fullmatch(rf"(?:{words})(?:de)?(?:{names})|(?:{names})(?:{words})", letters):
                return f"{terminal}_{kind}"
    return ""


def _by_words(text: str) -> str:
    """Longer names such as ``Gate-source voltage VGS``: the first terminal named, with the quantity named."""
    terminal = re.search(r"gate|drain|source|bulk|substrate|grille", text)
    leak = re.search(r"leak", text)
    kind = re.search(r"current|strom|courant|voltage|spannung|tension|bias|potential", text)
    if leak and (terminal is None or terminal[0] == "gate"):
        return "gate_current" if terminal else ""
    if terminal is None or kind is None:
        return ""
    name = {"grille": "gate", "substrate": "bulk"}.get(terminal[0], terminal[0])
    return f"{name}_{'current' if kind[0] in ('current', 'strom', 'courant') else 'voltage'}"
