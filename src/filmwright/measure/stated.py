"""What the lines around a table state: bias voltages, temperature, device, W, L, the limit of the current."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from filmwright.measure.cells import Cell, to_number
from filmwright.measure.columns import Column, read_biases, read_name, with_unit

_PAIR = re.compile(
    r"(?P<key>[A-Za-zÀ-ÿ|][\w .\-|À-ÿ]{0,40}?(?:\s*[(\[][^)\]]{1,12}[)\]])?)\s*[=:]\s*"
    r"(?P<value>[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-]?\d+)?)\s*(?P<unit>[A-Za-zµμΩ°]{0,4})"
    r"(?=$|[\s,;)\]])(?!\s*(?:to|bis|\.\.|…)\s*[\d+\-])"
)
_DEVICE = re.compile(
    r"^(?:device|dut|sample|specimen|transistor|structure|site|die|chip|bauteil)\s*(?:under test|name|id|number|no\.?|nr\.?)?"
    r"\s*[:=#]?\s*(?P<name>\S.{0,60})?$",
    re.IGNORECASE,
)
_TITLE = re.compile(r"^[A-Za-z]{0,12}[ _\-]?\d+[A-Za-z0-9_\-]{0,20}$")
_NO_DEVICE = re.compile(
    r"^(?:block|sweep|run|curve|measurement|step|cycle|repeat|loop|table|page|section|segment|data|trace|test|sheet|no)\b",
    re.IGNORECASE,
)
_LIMIT = re.compile(r"complian|limit", re.IGNORECASE)
_HELD = {"width", "length", "temperature"}


@dataclass(frozen=True, kw_only=True)
class Stated:
    """What stands around a block.

    Attributes
    ----------
    biases : mapping from role to float [V]
    temperature : float [K] or None
    width, length : float [m] or None
    limit : float [A] or None
        Compliance of the drain current.
    device : str
    """

    biases: dict[str, float] = field(default_factory=dict)
    temperature: float | None = None
    width: float | None = None
    length: float | None = None
    limit: float | None = None
    device: str = ""

    def joined(self, later: Stated) -> Stated:
        """With what was stated later, which counts more."""
        if later is NOTHING:
            return self
        return Stated(
            biases={**self.biases, **later.biases},
            temperature=self.temperature if later.temperature is None else later.temperature,
            width=self.width if later.width is None else later.width,
            length=self.length if later.length is None else later.length,
            limit=self.limit if later.limit is None else later.limit,
            device=later.device or self.device,
        )


NOTHING = Stated()


@functools.lru_cache(maxsize=4096)
def read_statement(cells: tuple[Cell, ...]) -> Stated:
    """What a row that is neither names nor numbers states.

    Parameters
    ----------
    cells : tuple of Cell
    """
    filled = [cell for cell in cells[:64] if cell != ""]
    texts = [cell for cell in filled if isinstance(cell, str)]
    if not texts:
        return NOTHING
    first = filled[0]
    found = NOTHING
    if isinstance(first, str):
        found = found.joined(_device(first, filled[1:]))
    for text in texts[:16]:
        found = found.joined(Stated(biases=read_biases(text)[0]))
        for pair in _PAIR.finditer(text[:400]):
            found = found.joined(_held(pair["key"], pair["value"], pair["unit"]))
    if isinstance(first, str) and len(filled) in (2, 3) and (len(filled) == 2 or isinstance(filled[2], str)):
        unit = str(filled[2]) if len(filled) == 3 else ""
        found = found.joined(_held(first.rstrip(":= "), filled[1], unit))
    return NOTHING if found == NOTHING else found


def title_device(title: str) -> str:
    """A device that a lone title names, e.g. ``T07``; empty when it names none."""
    bare = title.strip().strip("#%[]()-= ").strip()
    return bare if _TITLE.match(bare) and not _NO_DEVICE.match(bare) else ""


def _device(first: str, rest: Sequence[Cell]) -> Stated:
    match = _DEVICE.match(first.strip())
    if match is None:
        return NOTHING
    name = match["name"] or ""
    if not name and rest:
        name = f"{rest[0]:g}" if isinstance(rest[0], float) else str(rest[0])
    name = re.split(r"[,;\t]|\s{2,}", name.strip().strip("\"'"))[0].strip()
    bare = bool(re.search(r"[:=#]", first)) or bool(rest)
    if not re.search(r"\w", name) or "type" in first.lower() or (not bare and not re.search(r"\d", name)):
        return NOTHING
    return Stated(device=name)


def _held(key: str, value: Cell, unit: str) -> Stated:
    """One named number, where it is a bias, a temperature, a size of the channel or a limit of the current."""
    name = key.strip()
    if _LIMIT.search(name):
        column = read_name(
            _LIMIT.sub("", re.sub(r"complian\w*", "", name, flags=re.IGNORECASE)).strip() or "ID"
        )
        role = column.role or ("drain_current" if not re.search(r"gate|[IV]_?G", name, re.IGNORECASE) else "")
        number = _number(replace(column, role="drain_current"), value, unit)
        return Stated(limit=abs(number)) if number and role == "drain_current" else NOTHING
    column = read_name(name)
    if not column.role.endswith("_voltage") and column.role not in _HELD:
        return NOTHING
    number = _number(column, value, unit)
    if number is None:
        return NOTHING
    if column.role.endswith("_voltage"):
        return Stated(biases={column.role: number})
    if column.role == "temperature":
        return Stated(temperature=number) if number > 0 else NOTHING
    if number <= 0 or not (column.unit or unit):
        return NOTHING
    return Stated(width=number) if column.role == "width" else Stated(length=number)


def _number(column: Column, value: Cell, unit: str) -> float | None:
    if isinstance(value, str):
        parts = re.fullmatch(r"\s*(\S+?)\s*([A-Za-zµμ°]{0,4})\s*", value)
        if parts is None:
            return None
        number = to_number(parts[1], ".")
        number = to_number(parts[1], ",") if number is None else number
        value, unit = (math.nan if number is None else number), parts[2] or unit
    column = with_unit(column, unit) if unit else column
    if column.role == "temperature" and not column.unit:
        column = with_unit(column, "K" if value > 200 else "°C")
    if unit and not column.unit and not column.role:
        return None
    return value * column.factor + column.offset if math.isfinite(value) else None
