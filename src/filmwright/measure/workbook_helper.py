"""The process that reads workbooks: a length and the bytes come in, one line of JSON goes out.

It imports nothing of the project, so that it starts at once.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys

MEMORY = 4 << 30
"""Bytes that a damaged size field can make it take at most."""


def answer(data: bytes) -> dict[str, object]:
    """Sheets of a workbook as numbers and texts, or what was wrong."""
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = [(name, book.get_sheet_by_name(name).to_python()) for name in book.sheet_names]
    except BaseException as trouble:  # noqa: BLE001 - a panic of the reader is no Exception
        said = str(trouble).splitlines() or ["damaged"]
        return {"trouble": said[0][:120]}
    return {"sheets": [(name, [[_cell(cell) for cell in row] for row in rows]) for name, rows in sheets]}


def _cell(cell: object) -> float | str:
    if isinstance(cell, bool) or cell is None:
        return ""
    return float(cell) if isinstance(cell, int | float) else str(cell).strip()


def main() -> None:
    """Answer until the input ends."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, resource.RLIM_INFINITY))
    while line := sys.stdin.buffer.readline():
        data = sys.stdin.buffer.read(int(line))
        sys.stdout.buffer.write(json.dumps(answer(data)).encode() + b"\n")
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
