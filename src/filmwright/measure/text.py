"""From the bytes of a text to rows of cells: encoding, separator, decimal sign; plain numbers go the short way."""

from __future__ import annotations

import csv
import functools
import itertools
import re
import warnings
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from filmwright.measure.cells import Cell, Numbers, Piece, Row, to_number

SAMPLE = 12
"""Lines from which separator and decimal sign are told."""

LONGEST_LINE = 200_000
"""Characters of a line that are looked at; no row of a table is longer."""

SEPARATORS = {"tab": "\t", "semicolon": ";", "comma": ",", "bar": "|", "blanks": " "}
DECIMALS = {"point": ".", "comma": ","}
_CANDIDATES = (
    ("\t", "."),
    (";", "."),
    (",", "."),
    ("\t", ","),
    (";", ","),
    (",", ","),
    ("|", "."),
    ("|", ","),
    (" ", "."),
    (" ", ","),
)
_NUMERIC = "0123456789+-.eEnaNAifIF,;\t |"
_NUMERIC_BYTES = _NUMERIC.encode() + b"\n"
_USUAL_BYTES = bytes([*range(0x20, 0x7F)]) + b"\t\r\n\f\x1a"
_STARTS = frozenset("0123456789+-.−")
_DIGITS = re.compile(r"[+\-−]?\d+")
_COMMENT = re.compile(r"^\s*(?:#+|//|%)\s*")
_STRANGE = re.compile(r"[\x01-\x08\x0b\x0e-\x19\x1b-\x1f\x7f\ufffd\x00]")


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the cells of a text stand: its encoding, what parts them and its decimal sign."""

    encoding: str = ""
    separator: str = ""
    decimal: str = ""

    def words(self) -> tuple[str, ...]:
        """The layout in words."""
        if not self.separator:
            return ("workbook",)
        parted = next(name for name, sign in SEPARATORS.items() if sign == self.separator)
        encoding = "utf-8 with byte-order mark" if self.encoding == "utf-8-sig" else self.encoding
        return (f"encoding {encoding}", f"separator {parted}", f'decimal sign "{self.decimal}"')


def decode(data: bytes, encoding: str = "") -> tuple[str, str] | None:
    """The text of a file and the name of its encoding; None when it is not a text.

    Parameters
    ----------
    data : bytes
    encoding : str
        As stated by a reading rule; empty lets the bytes tell.
    """
    if encoding:
        return _checked(data.decode(encoding, errors="replace"), encoding)
    for mark, name in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe\x00\x00", "utf-32"),
        (b"\x00\x00\xfe\xff", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if data.startswith(mark):
            return _checked(data.decode(name, errors="replace"), name)
    head = data[:4000]
    zeros = head.count(0)
    if zeros > len(head) / 4:
        name = "utf-16-le" if head[1::2].count(0) >= zeros / 2 else "utf-16-be"
        return _checked(data.decode(name, errors="replace"), name)
    try:
        return _checked(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return _checked(data.decode("cp1252", errors="replace"), "cp1252")


def _checked(text: str, encoding: str) -> tuple[str, str] | None:
    head = text[:20000]
    strange = (
        len(head.encode().translate(None, _USUAL_BYTES)) if head.isascii() else len(_STRANGE.findall(head))
    )
    return None if strange > 0.02 * len(head) else (text.replace("\x00", ""), encoding)


def read_rows(text: str, layout: Layout) -> tuple[tuple[Piece, ...], Layout]:
    """Rows of cells, runs of plain numbers as arrays, and the layout with what was found out.

    Parameters
    ----------
    text : str
    layout : Layout
        What a reading rule states of it; what is empty is found out.

    Returns
    -------
    tuple of Row or Numbers, Layout
    """
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    separator, decimal = _shape(_sample(lines), layout.separator, layout.decimal)
    return tuple(_pieces(lines, separator, decimal)), replace(layout, separator=separator, decimal=decimal)


def _sample(lines: Sequence[str]) -> tuple[str, ...]:
    """The commonest skeletons (each run of digits a single 0) of lines that may be numbers."""
    few = lines[:: len(lines) // (3 * SAMPLE) + 1]
    looking = _looking(few)
    if len(looking) < 4:
        looking = _looking(lines)
    if len(looking) < 4:
        looking = [line for line in lines if line]
    step = len(looking) // SAMPLE + 1
    shown = "\n".join(line[:400] for line in looking[step // 2 :: step])
    counted = Counter(_DIGITS.sub("0", shown).split("\n"))
    return tuple(skeleton for skeleton, _ in counted.most_common(8))


def _looking(lines: Sequence[str]) -> list[str]:
    return [line for line in lines if line and line.lstrip(" \t\"'")[:1] in _STARTS]


@functools.lru_cache(maxsize=4096)
def _shape(sample: tuple[str, ...], separator: str, decimal: str) -> tuple[str, str]:
    """Separator and decimal sign under which most cells of the rows are numbers."""
    best, chosen = 0, (separator or ",", decimal or ".")
    for parted, point in _CANDIDATES:
        if (separator and parted != separator) or (decimal and point != decimal):
            continue
        score = sum(_score(line, parted, point) for line in sample)
        if score > best:
            best, chosen = score, (parted, point)
    return chosen


def _score(line: str, separator: str, decimal: str) -> int:
    cells = [each for each in split(line, separator) if each]
    numeric = sum(1 for each in cells if to_number(each, decimal) is not None)
    return max(0, 2 * numeric - len(cells)) if numeric >= 2 else 0


def _pieces(lines: Sequence[str], separator: str, decimal: str) -> Iterator[Piece]:
    run: list[str] = []
    start = 1
    for number, line in enumerate(lines, 1):
        if line and not line.strip(_NUMERIC):
            if not run:
                start = number
            run.append(line)
            if len(run) == 2 and _all_numbers(lines, number):
                yield from _run([*run, *lines[number:]], start, separator, decimal)
                return
            continue
        if run and not line.strip():
            continue
        if run:
            yield from _run(run, start, separator, decimal)
            run = []
        if line.strip():
            yield _row(line[:LONGEST_LINE], number, separator, decimal)
    if run:
        yield from _run(run, start, separator, decimal)


def _all_numbers(lines: Sequence[str], start: int) -> bool:
    """Whether nothing but plain numbers follows; looked at once, because it is usual and saves most of the time."""
    body = "\n".join(lines[start:])
    return body.isascii() and not body.encode().translate(None, _NUMERIC_BYTES)


def _run(lines: list[str], start: int, separator: str, decimal: str) -> Iterator[Piece]:
    """Lines of plain numbers as one array, or row by row where their widths differ or a cell is empty."""
    if "" in lines:
        lines = [line for line in lines if line]
    values = _matrix(lines, separator, decimal) if len(lines) > 1 else None
    if values is not None:
        yield Numbers(values=values, line=start)
        return
    for number, line in enumerate(lines, start):
        yield _row(line[:LONGEST_LINE], number, separator, decimal)


def _matrix(
    lines: list[str], separator: str, decimal: str
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]] | None:
    if separator == " ":
        width = len(lines[0].split())
        if any(len(line.split()) != width for line in lines):
            return None
        joined = " ".join(lines)
    else:
        if lines[0].endswith(separator) and all(line.endswith(separator) for line in lines):
            lines = [line[:-1] for line in lines]
        width = lines[0].count(separator) + 1
        if set(map(str.count, lines, itertools.repeat(separator))) != {width - 1}:
            return None
        joined = separator.join(lines)
    if decimal == ",":
        if "." in joined:
            return None
        joined = joined.replace(",", ".")
    try:
        with warnings.catch_warnings(action="error"):
            numbers = np.fromstring(joined, dtype=float, sep=separator)
    except (ValueError, DeprecationWarning):
        return None
    return numbers.reshape(len(lines), -1) if numbers.size == len(lines) * width else None


def split(line: str, separator: str) -> list[str]:
    """The cells of a line as text; a leading comment sign does not count."""
    bare = _COMMENT.sub("", line)
    if separator == " ":
        return bare.split()
    if '"' in bare:
        try:
            return [each.strip() for each in next(csv.reader([bare], delimiter=separator), [])]
        except csv.Error:
            return [each.strip().strip('"') for each in bare.split(separator)]
    return [each.strip() for each in bare.split(separator)]


def _row(line: str, number: int, separator: str, decimal: str) -> Row:
    return Row(cells=_cells(line, separator, decimal), line=number, raw=line)


@functools.lru_cache(maxsize=4096)
def _cells(line: str, separator: str, decimal: str) -> tuple[Cell, ...]:
    texts = split(line, separator)
    numbers = [to_number(each, decimal) for each in texts]
    if (
        separator == " "
        and sum(1 for each in numbers if each is not None) < 2
        and re.search(r"\S\s{2,}\S|\S\(|\S \(", line[:2000])
    ):
        # Names with single blanks inside, such as "Drain current (A)", stand two or more blanks apart.
        wide = re.split(r"\s{2,}|\s(?=[A-Z][a-z]+\s+\w+\s*[(\[])", line.strip().lstrip("#% "))
        if len(wide) > 1:
            texts, numbers = wide, [to_number(each, decimal) for each in wide]
    return tuple(text if value is None else value for text, value in zip(texts, numbers, strict=True))
