"""Colours of very many columns beside a general-purpose transfer-matrix library in a loop."""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
import tmm

from filmwright.knowledge import optical
from filmwright.process import Stacks, appearance, eye, illuminated, reflectances
from filmwright.units import to_si

COLUMNS, FILMS, SAMPLE = 100_000, 5, 12
MATERIALS = ("silicon dioxide", "silicon nitride", "aluminium oxide", "indium gallium zinc oxide", "zinc oxide", "titanium",
             "positive novolak resist", "silicon")  # fmt: skip
NM = to_si(1, "nm")

Row = tuple[str, float, float, int, str]


def many(seed: int = 7) -> Stacks:
    """Columns that all differ: any materials, 0 to 500 nm each, on silicon."""
    rng = np.random.default_rng(seed)
    waves = eye().wavelength
    index = np.array([optical(name).index(waves) for name in MATERIALS])  # type: ignore[union-attr]
    return Stacks(
        wavelength=waves,
        index=index,
        films=rng.integers(0, len(MATERIALS) - 1, (COLUMNS, FILMS)),
        thickness=rng.uniform(0, 500, (COLUMNS, FILMS)) * NM,
        below=np.full(COLUMNS, len(MATERIALS) - 1),
        above=np.ones(waves.size, dtype=complex),
        plate=np.full(COLUMNS, np.inf),
        behind=np.ones(waves.size, dtype=complex),
    )


def by_library(stack: Stacks, columns: int) -> np.ndarray:
    """Reflectance spectra of the first columns, one wavelength after the other."""
    found = np.empty((columns, stack.wavelength.size))
    index = np.conj(stack.index)
    for c in range(columns):
        thickness = [math.inf, *(stack.thickness[c] / NM), math.inf]
        for k, wave in enumerate(stack.wavelength / NM):
            n = [1.0, *index[stack.films[c], k], index[stack.below[c], k]]
            found[c, k] = tmm.coh_tmm("s", n, thickness, 0, wave)["R"]
    return found


def _seconds(call: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def measure(threads: int) -> list[Row]:
    """Name, our seconds, the library's seconds for the same work (from a sample), repeats, size."""
    stack, seer = many(), eye()
    exact = illuminated(Stacks(**{**vars(stack), **_first(stack, SAMPLE)})).reflectance
    told = by_library(stack, SAMPLE)
    if np.abs(exact - told).max() > 1e-9:
        sys.exit("the exact path and the library disagree")
    reflectances(stack, threads=threads)
    waves = stack.wavelength.size
    size = f"{COLUMNS} columns × {waves} wavelengths × {FILMS} films; library timed on {SAMPLE} columns"
    peer = _seconds(lambda: by_library(stack, SAMPLE), 3) * COLUMNS / SAMPLE
    spectra = _seconds(lambda: reflectances(stack, threads=threads), 5)
    colours = _seconds(lambda: appearance(reflectances(stack, threads=threads), seer).rgb, 5)
    named = _seconds(lambda: appearance(reflectances(stack, threads=threads), seer).names, 3)
    # Double precision keeps every film and wavelength at once: a 50th of the columns stands for all.
    few = Stacks(**{**vars(stack), **_first(stack, COLUMNS // 50)})
    double = _seconds(lambda: illuminated(few), 3) * 50
    each = f"{COLUMNS} columns, {spectra / COLUMNS * 1e6:.2f} µs a spectrum"
    return [
        ("reflectance, single precision", spectra, peer, 5, each),
        ("colours on the screen", colours, peer, 5, size),
        ("colours with their names", named, peer, 3, size),
        ("all shares in double precision", double, peer, 3, size),
    ]


def _first(stack: Stacks, count: int) -> dict[str, np.ndarray]:
    return {name: getattr(stack, name)[:count] for name in ("films", "thickness", "below", "plate")}


if __name__ == "__main__":
    for row in measure(int(sys.argv[1]) if len(sys.argv) > 1 else 1):
        print(row)
