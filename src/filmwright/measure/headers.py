"""The row of names above numbers: repeats, units, biases and titles of groups, and names in two rows."""

from __future__ import annotations

import functools
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

from filmwright.measure.cells import Cell
from filmwright.measure.columns import MEASURED, Column, is_unit, read_biases, read_name, with_unit

Meaning = Callable[[str], Column]

MOST_COLUMNS = 5_000
"""Columns of a row that are looked at."""

_KIND = re.compile(r"volt|curr|strom|spann|bias|courant|tension|^\W*[VUI]\W*$", re.IGNORECASE)
_SET = re.compile(r"set|nominal|program|force|soll", re.IGNORECASE)
_DEVICE = r"(?P<device>[A-Za-z][\w-]{0,20}?\d[\w-]{0,10}?)"
_DEVICE_UNIT = r"(?P<unit>\s*[(\[/][^()\[\]]*[)\]]?)?"
_DEVICE_FORMS = (
    re.compile(rf"{_DEVICE}[\s_:.-]+(?P<name>\D+?){_DEVICE_UNIT}"),
    re.compile(rf"(?P<name>\D+?)[\s_:.-]+{_DEVICE}{_DEVICE_UNIT}"),
    re.compile(rf"(?P<name>\D+?)\s?[(\[]{_DEVICE}[)\]]{_DEVICE_UNIT}"),
)
_BIAS_LIKE = re.compile(r"[VU]_?(?:D|G|S|B)S?_?\d", re.IGNORECASE)


@functools.lru_cache(maxsize=512)
def read_header(row: tuple[Cell, ...], above: tuple[Cell, ...], meaning: Meaning) -> tuple[Column, ...]:
    """Columns that a row names, with what the row above says of them; empty when it names fewer than two measured
    quantities.

    Parameters
    ----------
    row, above : tuple of Cell
    meaning : callable
        From a name to its column.
    """
    row, above = row[:MOST_COLUMNS], above[:MOST_COLUMNS]
    names, both = [cell if isinstance(cell, str) else "" for cell in row], _joined(row, above)
    plain: list[Column] = []
    if _names_two(names, meaning) or _names_two(both, meaning):
        plain = _named(names, meaning)
    if not any(column.role == "drain_current" for column in plain):
        plain = _of_devices(names, meaning) or plain
    if not plain:
        return ()
    joined = _named(both, meaning) if _terminals(plain) < 3 else []
    columns = joined if _terminals(joined) > _terminals(plain) else plain
    if sum(1 for column in columns if column.role in MEASURED) < 2:
        return ()
    if columns is plain:
        columns = _with_above(columns, above)
    return _settled(columns)


def matrix_header(row: Sequence[Cell], above: Sequence[Cell]) -> tuple[Column, ...]:
    r"""Columns of a table whose first cell names two voltages (``VG \ VD``) and whose others are values of the second."""
    first = row[0] if row else ""
    numbers = [cell for cell in row[1:] if isinstance(cell, float)]
    if not isinstance(first, str) or len(numbers) < 2 or len(numbers) != len(row) - 1:
        return ()
    names = re.split(r"\s*[\\|]\s*|\s+/\s+|→", first)
    if len(names) != 2:
        return ()
    down, across = (read_name(name) for name in names)
    if not (down.role.endswith("_voltage") and across.role.endswith("_voltage")):
        return ()
    told = next(
        (
            each
            for cell in above
            if isinstance(cell, str) and (each := read_name(cell)).role == "drain_current"
        ),
        Column(name="cells of the matrix", role="drain_current"),
    )
    return (down, *(replace(told, biases={across.role: each * across.factor}) for each in numbers))


def bias_row(columns: Sequence[Column], row: Sequence[Cell], meaning: Meaning) -> tuple[Column, ...]:
    """The columns with a voltage for each current, from a row such as ``VDS (V), 0.1, 1, 5``; empty when it is none."""
    first = row[0] if row else ""
    if not isinstance(first, str) or not first:
        return ()
    told = meaning(first.rstrip(":= "))
    if not told.role.endswith("_voltage") or any(column.role == told.role for column in columns):
        return ()
    places = [at for at, cell in enumerate(row) if isinstance(cell, float) and at < len(columns)]
    if len(places) < 2 or any(columns[at].role != "drain_current" for at in places):
        return ()
    return tuple(
        replace(column, biases={**column.biases, told.role: float(row[at]) * told.factor})
        if at in places
        else column
        for at, column in enumerate(columns)
    )


def _named(names: Sequence[str], meaning: Meaning) -> list[Column]:
    return [meaning(name) if name else Column(name="", role="") for name in names]


def _names_two(names: Sequence[str], meaning: Meaning) -> bool:
    """Whether two names mean measured quantities; no name is looked up once there cannot be two any more."""
    left, found = len(names) - names.count(""), 0
    for name in filter(None, names):
        if found + left < 2:
            return False
        found += meaning(name).role in MEASURED
        left -= 1
        if found == 2:
            return True
    return False


def _of_devices(names: Sequence[str], meaning: Meaning) -> list[Column]:
    """Columns of a wide table whose names begin or end with a device (``T01 ID (A)``, ``ID_T01 (A)``); empty for fewer than two."""
    if len(names) - names.count("") < 3:
        return []
    found = {at: each for at, name in enumerate(names) if name and (each := _of_a_device(name, meaning))}
    devices = {each.device for each in found.values() if each.role == "drain_current"}
    if len(devices) < 2:
        return []
    return [found.get(at, column) for at, column in enumerate(_named(names, meaning))]


def _of_a_device(name: str, meaning: Meaning) -> Column | None:
    for form in _DEVICE_FORMS:
        if (match := form.fullmatch(name.strip())) and not _BIAS_LIKE.match(match["device"]):
            column = meaning(f"{match['name']} {match['unit'] or ''}".strip())
            if column.role in MEASURED:
                return replace(column, name=name.strip(), device=match["device"], group=match["device"])
    return None


def _terminals(columns: Sequence[Column]) -> int:
    return sum(1 for column in columns if column.role in MEASURED and column.role != "bias_voltage")


def _joined(row: Sequence[Cell], above: Sequence[Cell]) -> list[str]:
    """Names that stand in two rows (Gate / Voltage)."""
    if (
        not above
        or any(isinstance(cell, float) for cell in above)
        or any(is_unit(str(cell)) for cell in row if cell)
    ):
        return []
    upper = [str(cell) for cell in above] + [""] * (len(row) - len(above))
    return [
        f"{one} {two}".strip() if isinstance(two, str) else "" for one, two in zip(upper, row, strict=False)
    ]


def _with_above(columns: list[Column], above: Sequence[Cell]) -> list[Column]:
    """Units, biases and titles of groups that the row above the names gives."""
    width = len(columns)
    texts = [cell.strip() if isinstance(cell, str) else "" for cell in above[:width]]
    texts += [""] * (width - len(texts))
    filled = [text for text in texts if text]
    if filled and all(is_unit(text) for text in filled):
        return [
            with_unit(column, text) if text else column for column, text in zip(columns, texts, strict=True)
        ]
    if told := bias_row(columns, above, read_name):
        return list(told)
    stated = [read_biases(text)[0] for text in texts]
    if sum(1 for each in stated if each) >= 2:
        current: dict[str, float] = {}
        result = []
        for column, each in zip(columns, stated, strict=True):
            current = each or current
            result.append(replace(column, biases={**current, **column.biases}))
        return result
    roles = [column.role for column in columns if column.role in MEASURED]
    if (
        len(filled) >= 2
        and len(set(roles)) < len(roles)
        and not any(read_name(text).role in MEASURED for text in filled)
    ):
        return _titled(columns, texts)
    return columns


def _titled(columns: list[Column], texts: Sequence[str]) -> list[Column]:
    title, number, result = "", 0, []
    for column, text in zip(columns, texts, strict=True):
        if text:
            title, number = text[:60], number + 1
        group = column.group or (f"#{number}" if number and column.role else "")
        result.append(replace(column, device=title, group=group))
    return result


def _settled(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Biases without a terminal resolved, doubles left out, repeats numbered."""
    roles = {column.role for column in columns}
    free = "drain_voltage" if "gate_voltage" in roles else "gate_voltage"
    settled = []
    alike: dict[tuple[object, ...], list[Column]] = {}
    for column in columns:
        alike.setdefault(_meaning_key(column), []).append(column)
    for column in columns:
        others = alike[_meaning_key(column)]
        if "" in column.biases:
            biases = {key or free: value for key, value in column.biases.items() if key or free not in roles}
            column = replace(column, biases=biases)
        if column.role and len(others) > 1 and (why := _double(column, others)):
            column = replace(column, role="", ignored=why)
        settled.append(column)
    return _numbered(settled)


def _double(column: Column, alike: Sequence[Column]) -> str:
    """Why a column is left out beside others of the same meaning; empty when it is not."""
    if column.absolute and any(not each.absolute for each in alike):
        return "the current with its sign stands beside it"
    if (
        column.role.endswith("_voltage")
        and _SET.search(column.name)
        and any(not _SET.search(each.name) for each in alike)
    ):
        return "the measured voltage stands beside it"
    return ""


def _meaning_key(column: Column) -> tuple[object, ...]:
    return column.role, column.group, column.way, tuple(sorted(column.biases.items()))


def _numbered(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Names that repeat without an index (VG, ID, VG, ID) get the number of their occurrence as group."""
    seen: dict[tuple[str, str, int], int] = {}
    keys = [(column.role, column.group, column.way) for column in columns]
    counted = Counter(keys)
    result = []
    for column, key in zip(columns, keys, strict=True):
        seen[key] = seen.get(key, 0) + 1
        plain = not column.group and column.role in MEASURED and not column.biases
        result.append(replace(column, group=f"#{seen[key]}") if plain and counted[key] > 1 else column)
    return tuple(result)
