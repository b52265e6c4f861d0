"""Ten thousand text tables of 201 points read, beside a plain loop of csv and float that knows where its columns are."""

from __future__ import annotations

import csv
import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from filmwright.measure import read_tables

FILES, POINTS = 10_000, 201
PREAMBLE = (
    "Setup,transfer\nDevice,{name}\nDate,2026-11-{day:02d}\nOperator,n.n.\n\nVG (V),VD (V),ID (A),IG (A)\n"
)


def invented_files(folder: Path, count: int = FILES) -> list[Path]:
    """Tables of an invented device, each with noise of its own; numbers as instruments print them."""
    random = np.random.default_rng(1)
    gate = np.linspace(-5.0, 15.0, POINTS)
    paths = []
    for number in range(count):
        noise = 1e-12 * random.normal(size=(2, POINTS))
        drain = 1e-7 * np.maximum(gate - 1.0, 0.0) ** 2 * (1 + 0.1 * random.normal()) + noise[0]
        rows = "".join(f"{v:.3f},5,{i:.6e},{g:.4e}\n" for v, i, g in zip(gate, drain, noise[1], strict=True))
        path = folder / f"T{number:05d}.csv"
        path.write_text(PREAMBLE.format(name=path.stem, day=number % 28 + 1) + rows)
        paths.append(path)
    return paths


def peer_file(path: Path) -> np.ndarray:
    """One table with csv and float, its five lines of preamble and four columns known beforehand."""
    with path.open(newline="") as lines:
        reader = csv.reader(lines)
        rows = [
            [float(cell) for cell in row]
            for number, row in enumerate(reader)
            if number > 4 and row and number != 5
        ]
    return np.array(rows)


def reading_rows(count: int = FILES) -> list[tuple[str, float, float, float, float, str]]:
    """Name, our wall and processor seconds, the peer's, and the size, with one and two processes."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        paths = invented_files(Path(folder), count)
        read_tables(paths[:50], processes=1)
        for processes in (1, 2):
            wall, spent = time.perf_counter(), _spent()
            read = read_tables(paths, processes=processes)
            ours = (time.perf_counter() - wall, _spent() - spent)
            assert all(len(each.sweeps[0].gate_voltage) == POINTS for each in read.measurements)
            wall, spent = time.perf_counter(), _spent()
            for path in paths:
                peer_file(path)
            peer = (time.perf_counter() - wall, _spent() - spent)
            size = f"{count} files of {POINTS} points, {processes} process{'es' if processes > 1 else ''}"
            found.append(("text files read", *ours, *peer, size))
    return found


def rows() -> list[tuple[str, float, str, float, str]]:
    """Wall seconds for the table of all benches."""
    return [
        (name, wall, "csv and float, columns known", peer, size)
        for name, wall, _, peer, _, size in reading_rows()
    ]


def _spent() -> float:
    """Processor seconds of this process and its ended children."""
    each = os.times()
    return each.user + each.system + each.children_user + each.children_system


if __name__ == "__main__":
    for name, wall, spent, peer_wall, peer_spent, size in reading_rows(
        int(sys.argv[1]) if len(sys.argv) > 1 else FILES
    ):
        print(
            f"{name}: {wall:.2f} s wall, {spent:.2f} s processor; csv and float: {peer_wall:.2f} s, {peer_spent:.2f} s; {size}"
        )
