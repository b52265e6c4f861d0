"""What a column name means: terminal, quantity, unit, the repeat it belongs to and the bias it names."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from filmwright import units

_NUMBER = r"[+\-−]?\s*(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-]?\d+)?"
_BIAS = re.compile(
    rf"\b[VU]_?\s*\{{?(?P<name>SD|SG|D|DS|G|GS|B|BS|S|drain|gate|bulk|source)\}}?\s*[=:]\s*(?P<value>{_NUMBER})"
    r"\s*(?P<unit>[mkµun]?V|[mkµun])?(?=\s*(?:$|[,;)\]\s@]))(?!\s*(?:to|bis|\.\.|…|-)\s*[\d+\-])",
    re.IGNORECASE,
)
_ALONE = re.compile(rf"(?:^|[\s_(@\[])(?P<value>{_NUMBER})\s*(?P<unit>[mkµu]?V)\s*[)\]]?\s*$")
_UNIT = re.compile(r"^(?P<prefix>[afpnuµμmkMG]?)(?P<base>A|V|F|S|s|Hz|Ohm|ohm|Ω|W|K|m)$")
_SCALED = re.compile(
    r"^(?:1?\s*[x×·*]?\s*)?(?:10\s*\^?\s*|1?[eE])(?P<power>[-−]?\d{1,2})\s*(?P<base>A|V|F|S)$"
)
_UNIT_PLACES = (
    r"[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]",
    r"\s*/\s*([A-Za-zµμΩ°]+)\s*$",
    r"\bin\s+([A-Za-zµμΩ°]+)\s*$",
    r"(?:,\s*|\s+|_)((?:[afpnuµμmk]?[AVF]|[nuµμm]m|K|°C|degC))\s*$",
)
_PER = re.compile(
    r"(?:[(\[{/]\s*|\bin\s+)([afpnuµμmk]?[AF]\s*(?:/|·|\*|\s)\s*[cmµun]*m(?:\^?-?\d|[²⁻¹]*)?)\s*[)\]}]?\s*$"
)
_WORDS = {"volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "farad": "F",
          "kelvin": "K", "celsius": "°C", "degc": "°C", "c": "°C", "deg c": "°C", "µm": "um", "μm": "um"}  # fmt: skip
_TERMINALS = {
    "gate": r"g|gs|gate|gatesource|gatetosource|topgate|backgate|bottomgate|tg|bg|grille|gateelektrode",
    "drain": r"d|ds|drain|drainsource|draintosource|sourcedrain|sourcetodrain|channel",
    "source": r"s|source|ss",
    "bulk": r"b|bs|bulk|body|sub|substrate|well",
}
_CURRENT = r"i|current|curr|strom|courant|amps"
_VOLTAGE = r"v|u|voltage|volt|volts|bias|potential|spannung|tension"
_TERMINAL_WORD = re.compile(r"gate|drain|source\W*(?:to\W*)?drain|source|bulk|substrate|grille")
_KIND_WORD = re.compile(r"current|strom|courant|voltage|spannung|tension|bias|potential")
_EXTRA = re.compile(
    r"^(abs|meas|measured|raw|smu|average|avg)|(abs|meas|measured|raw|avg|average|value|set)$"
)
_INDEX = re.compile(r"[(\[_.#\s]\s*(\d{1,6})\s*[)\]]?\s*$|(?<=[A-Za-z])(\d{1,6})$")
_DERIVED = re.compile(
    r"^\s*(?:log|lg|ln|sqrt|root|√|gm\b|g_m|norm|delta|(?-i:d\s*\(?\s*I))|\^|[²³]|[A-Za-z)]\s*[/*]\s*[A-Za-z(]",
    re.IGNORECASE,
)
_WAYS = (
    (1, re.compile(r"[\s_(\[.-]*\b(?:forward|fwd|forth|up|rising|hin)\b[)\]]?|[\s_(\[.-]+(?:fwd|up)[)\]]?\s*$", re.I)),
    (-1, re.compile(
        r"[\s_(\[.-]*\b(?:backward|back(?!\s*-?gate)|bwd|reverse|rev|down|falling|return|rück|zurück)\b[)\]]?"
        r"|[\s_(\[.-]+(?:bwd|rev|down)[)\]]?\s*$", re.I)),
)  # fmt: skip
_TEXTS = {
    "device": r"(?:device|dut|sample|specimen|die|site|chip|transistor|structure|bauteil)(?:name|id|no|nr|number|nummer)?",
    "direction": r"direction|dir|sweepdirection|sweepdir|richtung|sens",
    "flag": r"(?:in)?compliance|compl|clipped|limited|overflow|overrange|status|flag|limit",
}

ROLES = ("gate_voltage", "drain_voltage", "source_voltage", "bulk_voltage", "drain_current", "gate_current",
         "source_current", "bulk_current", "capacitance", "bias_voltage", "direction", "time", "conductance",
         "frequency", "temperature", "device", "flag", "width", "length", "ignore")  # fmt: skip
MEASURED = {"drain_current", "gate_current", "source_current", "bulk_current", "gate_voltage", "drain_voltage",
            "source_voltage", "bulk_voltage", "capacitance", "bias_voltage"}  # fmt: skip
_BASES = {"voltage": "V", "current": "A", "capacitance": "F", "conductance": "S", "frequency": "Hz", "temperature": "K°C",
          "width": "m", "length": "m", "time": "s"}  # fmt: skip


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
    offset : float
        What is added then (a temperature in °C).
    unit : str
        As written; empty when none was.
    group : str
        The repeat that it belongs to (``2`` in ``DrainI(2)``); empty when shared.
    biases : mapping from role to float [V]
        Voltages that the name states, e.g. ``ID (VD = 0.1 V)``; ``""`` is one without a terminal, ``ID (5 V)``.
    referred : bool
        The voltage is counted from the source already (VGS, VDS).
    absolute : bool
        Only the size of the current stands there.
    device : str
        The device that a title above the column names.
    way : int
        1 forward, -1 backward, where the name says it; else 0.
    ignored : str
        Why a column whose name looks measured is not used.
    """

    name: str
    role: str
    factor: float = 1.0
    offset: float = 0.0
    unit: str = ""
    group: str = ""
    biases: Mapping[str, float] = field(default_factory=dict)
    referred: bool = False
    absolute: bool = False
    device: str = ""
    way: int = 0
    ignored: str = ""


@functools.lru_cache(maxsize=4096)
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
    text = re.sub(r"\s+", " ", name[:200].strip().strip("\"'#%")).strip()
    biases, text = read_biases(text)
    way, text = _take_way(text)
    per = _PER.search(text)
    if per:
        return Column(name=name.strip(), role="", unit=per[1], ignored=f"{per[1]} is no unit of a current")
    unit, rest = _take_unit(text)
    if (
        not biases
        and (alone := _ALONE.search(text))
        and _role(text[: alone.start()], "")[0].endswith("current")
    ):
        biases, text, unit = (
            {"": _volts(alone["value"], alone["unit"])},
            text[: alone.start()].strip(" @([_"),
            "",
        )
    else:
        text = rest
    if _DERIVED.search(text) and "\\" not in text:
        return Column(name=name.strip(), role="", ignored="derived from other columns, not measured")
    group, bare = _take_index(text)
    role, sign, referred = _role(bare, unit)
    if not role and biases and not re.sub(r"[^A-Za-z]", "", text):
        role = "drain_current"
    column = Column(
        name=name.strip(),
        role=role,
        factor=sign,
        group=group,
        biases=biases,
        referred=referred,
        absolute=bool(role.endswith("current") and re.search(r"\babs|\||abs\b", text, re.IGNORECASE)),
        way=way,
    )
    return _in_unit(column, unit) if unit else column


def read_biases(text: str) -> tuple[dict[str, float], str]:
    """Voltages stated in a text such as ``VDS = -5 V``, and the text without them."""
    text = text[:400]
    biases: dict[str, float] = {}
    for match in _BIAS.finditer(text):
        short = match["name"].lower()
        terminal = "drain" if short == "sd" else "gate" if short == "sg" else _terminal_of(short)
        sign = -1.0 if short in ("sd", "sg") else 1.0
        biases[f"{terminal}_voltage"] = sign * _volts(match["value"], match["unit"])
    rest = _BIAS.sub(" ", text) if biases else text
    return biases, re.sub(r"[(\[@,;]\s*[)\]]?\s*$", "", rest.strip()).strip() if biases else text


def _volts(value: str, unit: str | None) -> float:
    number = float(re.sub(r"\s", "", value).replace("−", "-").replace(",", "."))
    return number * (unit_factor(unit or "V") if unit is None or unit.endswith("V") else prefix_factor(unit))


def _terminal_of(short: str) -> str:
    return next(name for name, words in _TERMINALS.items() if re.fullmatch(words, short))


def is_unit(text: str) -> bool:
    """Whether a cell holds a unit and nothing else, e.g. ``(V)`` or ``nA``."""
    bare = text.strip().strip("()[]{}").strip()
    return _unit_of(bare) != ""


def _unit_of(bare: str) -> str:
    if bare.lower() in _WORDS:
        return _WORDS[bare.lower()]
    return bare if _UNIT.match(bare) or _SCALED.match(bare) or bare in ("°C", "ºC") else ""


def unit_factor(unit: str) -> float:
    """The factor to SI of a unit of current, voltage, capacitance or length as written."""
    bare = _WORDS.get(unit.lower(), unit)
    if scaled := _SCALED.match(bare):
        return float(f"1e{scaled['power'].replace('−', '-')}")
    match = _UNIT.match(bare)
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
    unit = _unit_of(cell.strip().strip("()[]{}").strip())
    return column if column.unit or not unit else _in_unit(column, unit)


def _in_unit(column: Column, unit: str) -> Column:
    """The column in a unit; a unit of another kind takes its meaning away, with the reason."""
    kind = column.role.rpartition("_")[2]
    unit = "um" if unit in ("µm", "μm") else unit
    base = (
        "°C" if unit in ("°C", "ºC") else (_SCALED.match(unit) or _UNIT.match(unit) or {"base": unit})["base"]
    )
    wanted = _BASES.get(kind)
    if wanted is not None and base not in wanted:
        return replace(column, role="", unit=unit, ignored=f"{unit} is no unit of a {kind}")
    if base == "°C":
        return replace(column, unit="°C", offset=units.ZERO_CELSIUS)
    return replace(column, unit=unit, factor=column.factor * unit_factor(unit))


def _take_unit(text: str) -> tuple[str, str]:
    for pattern in _UNIT_PLACES:
        for match in re.finditer(pattern, text):
            unit = _unit_of(match[1])
            rest = text[: match.start()] + text[match.end() :]
            if unit and re.search(r"[A-Za-z]", rest):
                return unit, rest.strip()
    return "", text


def _take_way(text: str) -> tuple[int, str]:
    for way, words in _WAYS:
        if match := words.search(text):
            rest = (text[: match.start()] + text[match.end() :]).strip()
            if rest:
                return way, rest
    return 0, text


def _take_index(text: str) -> tuple[str, str]:
    match = _INDEX.search(text)
    if match is None:
        return "", text
    return (match[1] or match[2]).lstrip("0") or "0", text[: match.start()].strip()


def _role(text: str, unit: str) -> tuple[str, float, bool]:
    """The role, the sign that turns the column into the project's convention, and whether it is counted from the
    source."""
    letters = re.sub(r"[^a-z]", "", text.lower())
    for _ in range(2):
        letters = _EXTRA.sub("", letters) if len(letters) > 3 else letters
    letters = re.sub(r"^([vu][a-z]{1,2})bias$", r"\1", letters)
    sign = -1.0 if re.match(r"^\s*[-−]", text) else 1.0
    if re.fullmatch(r"[vu]s[gd]|is[d]", letters):
        kind = "current" if letters[0] == "i" else "voltage"
        return ("gate_" if letters[2] == "g" else "drain_") + kind, -sign, True
    found = _by_letters(letters) or _by_words(text.lower())
    if found:
        return found, sign, _referred(letters)
    alone = text.strip()
    return _other(alone if len(alone) == 1 else "", letters, unit[-1:]), sign, False


def _referred(letters: str) -> bool:
    return bool(
        re.search(
            r"(?:gate|drain|bulk|body)(?:to)?source|source(?:to)?drain|(?:^|[vu])[gdb]s(?:$|v|u|b|s)", letters
        )
    )


@functools.lru_cache(maxsize=4096)
def _other(alone: str, letters: str, base: str) -> str:
    """Roles that no terminal has; ``alone``: the name where it is a single letter."""
    for role, words in _TEXTS.items():
        if re.fullmatch(words, letters):
            return role
    if re.fullmatch(r"c[a-z]{0,3}|capacitance|cap|kapazit.*", letters) and base in ("F", ""):
        return "capacitance"
    if re.fullmatch(r"g[a-z]{0,2}|conductance", letters) and base in ("S", ""):
        return "conductance"
    if re.fullmatch(r"f|freq|frequency|frequenz", letters) and base in ("z", ""):
        return "frequency"
    if re.fullmatch(r"[vu][a-z]{0,3}|voltage|bias(voltage)?", letters) and base in ("V", ""):
        return "bias_voltage"
    if (
        re.fullmatch(r"temp|temperature|temperatur|temprature|stagetemp.*|chucktemp.*", letters)
        or alone == "T"
    ) and (base in ("K", "C", "")):
        return "temperature"
    if re.fullmatch(r"t|time|timestamp|zeit|temps", letters):
        return "time"
    if re.fullmatch(r"(?:channel|gate)?width|kanalbreite", letters) or (alone == "W" and base in ("m", "")):
        return "width"
    if re.fullmatch(r"(?:channel|gate)?length|kanallänge", letters) or (alone == "L" and base in ("m", "")):
        return "length"
    return ""


def _by_letters(letters: str) -> str:
    """Names made of a quantity and a terminal alone, in either order: ``id``, ``gatevoltage``."""
    return _letters_of_roles().get(letters, "")


@functools.cache
def _letters_of_roles() -> dict[str, str]:
    found: dict[str, str] = {}
    for terminal, names in _TERMINALS.items():
        for kind, words in (("current", _CURRENT), ("voltage", _VOLTAGE)):
            for name, word in itertools.product(names.split("|"), words.split("|")):
                for letters in (word + name, f"{word}de{name}", name + word):
                    found.setdefault(letters, f"{terminal}_{kind}")
    return found


def _by_words(text: str) -> str:
    """Longer names such as ``Gate-source voltage VGS``: the first terminal named, with the quantity named."""
    terminal = _TERMINAL_WORD.search(text)
    if terminal is None:
        return ""
    if "leak" in text and terminal[0] == "gate":
        return "gate_current"
    kind = _KIND_WORD.search(text)
    if kind is None:
        return ""
    name = {"grille": "gate", "substrate": "bulk"}.get(terminal[0], terminal[0])
    name = "drain" if name.endswith("drain") else name
    return f"{name}_{'current' if kind[0] in ('current', 'strom', 'courant') else 'voltage'}"
