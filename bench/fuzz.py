"""Tables as benches write them, damaged in every way that a disk, an export or a hand damages them, with a kept seed.

``python -m bench.fuzz 10000`` reads that many and says what came of them. Each must end in a clear error or in curves whose numbers
are finite and whose parameters say why where they are refused; in no exception of another kind, and in no more than a few seconds.
"""

from __future__ import annotations

import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

from filmwright.errors import BadInput
from filmwright.measure import Measurement, explain_table, extract, read_table

SEED = 20261126
SLOW = 5.0
"""Seconds from which a file counts as a hang."""

WITH_PARAMETERS = 10
"""Of so many files one goes on to its parameters: they are another room's matter and take most of the time."""

Random = np.random.Generator
PREAMBLE = "Setup;Prüfplatz 3\nDevice: T07\nTemperature: 300 K\nID compliance (A),0.01\nW = 100 µm, L = 10 um\nStart,-5,V\n"
_BITS = '\0|,|;|\t|"|\n|\r|-|.|e99|E+308|9.9e37|nan|VG|ID (A)|VD = 5 V|1e-320|((((|−|1,234.5|*****|OVLD|T (K)|=|:|{}|\\'
BITS = (*_BITS.encode().split(b"|"), b"\xff\xfe", b"\xef\xbb\xbf", b"\xa0", b"\x1a")


def seeds() -> list[bytes]:
    """Sound tables of many shapes."""
    gate = np.linspace(-5.0, 15.0, 41)
    drain = 1e-7 * np.maximum(gate - 1.0, 0.0) ** 2 + 1e-11
    stacked = [(v, d, i * d, 1e-12) for d in (0.1, 5.0) for v, i in zip(gate, drain, strict=True)]

    def text(head: str, rows: list[tuple[object, ...]], separator: str = ",", decimal: str = ".") -> str:
        cells = (
            [f"{c:.6g}".replace(".", decimal) if isinstance(c, float) else str(c) for c in row]
            for row in rows
        )
        return head + "\n" + "".join(separator.join(row) + "\n" for row in cells)

    plain = text("VG (V),VD (V),ID (A),IG (A)", stacked)
    wide = text(
        "VG (V),ID @ VD=0.1 V,ID @ VD=5 V", [(v, i * 0.1, i * 5) for v, i in zip(gate, drain, strict=True)]
    )
    groups = text(
        "VG(1),ID(1),VD(1),VG(2),ID(2),VD(2)",
        [(v, i, 0.1, v, 5 * i, 5.0) for v, i in zip(gate, drain, strict=True)],
    )
    german = text(
        "U_GS / V;U_DS / V;I_D / nA;Gerät", [(*r[:2], r[2] * 1e9, "T07") for r in stacked], ";", ","
    )
    output = text(
        "VD,VG,ID", [(float(d), float(g), float(g * d)) for g in range(6) for d in np.linspace(0, 5, 21)]
    )
    blocks = "\n\n".join(
        f"VD = {d} V\n"
        + text("VG\tID\tTemp (°C)", [(v, i, 25.0) for v, i in zip(gate, drain, strict=True)], "\t")
        for d in (1, 5)
    )
    lying = "\n".join(
        f"{name}," + ",".join(f"{c:.6g}" for c in column)
        for name, column in zip(("VG", "VD", "ID"), zip(*[r[:3] for r in stacked], strict=True), strict=True)
    )
    capacitance = text("vbc,cbc,G (uS)", [(v, 1e-11, 0.1) for v in gate])
    texts = [
        plain,
        PREAMBLE + plain,
        wide,
        groups,
        german,
        output,
        blocks,
        lying,
        capacitance,
        PREAMBLE + german,
    ]
    return [
        *(each.encode() for each in texts),
        plain.encode("utf-16"),
        german.encode("cp1252"),
        plain.replace(",", "   ").encode(),
    ]


def damaged(content: bytes, random: Random) -> bytes:
    """The content after one to six mutations."""
    for _ in range(int(random.integers(1, 7))):
        content = MUTATIONS[int(random.integers(len(MUTATIONS)))](content, random)[:2_000_000]
    return content


def _flip(content: bytes, random: Random) -> bytes:
    changed = bytearray(content)
    for at in random.integers(0, max(len(changed), 1), int(random.integers(1, 40))):
        if changed:
            changed[int(at)] ^= 1 << int(random.integers(8))
    return bytes(changed)


def _cut(content: bytes, random: Random) -> bytes:
    at = int(random.integers(0, len(content) + 1))
    return content[:at] if random.random() < 0.5 else content[at:]


def _insert(content: bytes, random: Random) -> bytes:
    for _ in range(int(random.integers(1, 12))):
        at = int(random.integers(0, len(content) + 1))
        bit = BITS[int(random.integers(len(BITS)))] * int(random.choice([1, 1, 1, 7, 300]))
        content = content[:at] + bit + content[at + int(random.choice([0, 1, 5])) :]
    return content


def _lines(content: bytes, random: Random) -> bytes:
    lines = content.split(b"\n")
    at = int(random.integers(len(lines)))
    count = int(random.integers(1, 9))
    ways: list[Callable[[], list[bytes]]] = [
        lambda: lines[:at] + lines[at + count :],
        lambda: lines[:at] + lines[at : at + count] * int(random.integers(2, 30)) + lines[at + count :],
        lambda: [lines[int(k)] for k in random.permutation(len(lines))],
        lambda: lines[::-1],
        lambda: lines[: at + 1] + lines,
        lambda: [*lines[:at], b"".join(lines[at:])],
    ]
    return b"\n".join(ways[int(random.integers(len(ways)))]())


def _columns(content: bytes, random: Random) -> bytes:
    sign = (b",", b";", b"\t")[int(random.integers(3))]
    rows = [line.split(sign) for line in content.split(b"\n")]
    at = int(random.integers(5))
    way = int(random.integers(4))
    if way == 0:
        rows = [row[:at] + row[at + 1 :] for row in rows]
    elif way == 1:
        rows = [row[:at] + row[at : at + 1] * 3 + row[at + 1 :] for row in rows]
    elif way == 2:
        rows = [row[::-1] for row in rows]
    else:
        rows = [row if random.random() < 0.9 else row[: int(random.integers(len(row) + 1))] for row in rows]
    return b"\n".join(sign.join(row) for row in rows)


def _swap_signs(content: bytes, random: Random) -> bytes:
    one, two = random.choice([b",", b";", b"\t", b".", b" ", b"|", b"\n"], 2, replace=False)
    if random.random() < 0.5:
        return content.replace(bytes(one), bytes(two))
    half = len(content) // 2
    return content[:half] + content[half:].replace(bytes(one), bytes(two))


def _encode(content: bytes, random: Random) -> bytes:
    half = int(random.integers(0, len(content) + 1))
    name = ("utf-16", "utf-16-be", "cp1252", "utf-32", "utf-8-sig")[int(random.integers(5))]
    return (
        content[:half] + content[half:].decode("latin-1").encode(name, "replace")
        if random.random() < 0.5
        else content.decode("latin-1").encode(name, "replace")
    )


def _huge(content: bytes, random: Random) -> bytes:
    number = (b"1e308", b"-1e308", b"1e-308", b"9" * 400, b"0." + b"0" * 400 + b"1", b"1e999999", b"-0")[
        int(random.integers(7))
    ]
    parts = content.split(b",")
    for at in random.integers(0, len(parts), 5):
        parts[int(at)] = number
    return b",".join(parts)


def _long(content: bytes, random: Random) -> bytes:
    bit = (b"a", b"VG=1 ", b'"', b"1,", b"(", b"1 2 ", b"=", b"\xc3\xa4", b"VG,")[int(random.integers(9))]
    at = int(random.integers(0, len(content) + 1))
    return content[:at] + bit * int(random.choice([1000, 30_000, 200_000])) + content[at:]


def _nothing(content: bytes, random: Random) -> bytes:
    return (
        b"",
        b"\n" * 50,
        b"\x00" * 500,
        b"PK\x03\x04" + content,
        b"\xd0\xcf\x11\xe0" + content,
        bytes(random.bytes(2000)),
        b",,,,\n" * 50,
    )[int(random.integers(7))]


MUTATIONS: tuple[Callable[[bytes, Random], bytes], ...] = (
    *(_flip, _cut, _insert, _insert, _lines, _lines, _columns, _columns),
    *(_swap_signs, _encode, _huge, _long, _nothing),
)


def outcome(path: Path, with_parameters: bool = True) -> str:
    """What came of one file, in a word; raises where it is not one of the ways in which a file may end."""
    begin = time.process_time()
    try:
        found = read_table(path)
    except BadInput as bad:
        problem = bad.problems[0]
        assert all((problem.what, problem.expected, problem.got, problem.why, problem.remedy)), problem
        assert len(str(problem)) < 2000, f"an error of {len(str(problem))} characters"
        word = "refused"
    else:
        check(found, with_parameters)
        word = (
            "read, something noticed"
            if found.warnings or any(each.warnings for each in found.sweeps)
            else "read"
        )
    explain = Counter[str]()
    try:
        explain.update(topic for topic, _ in explain_table(path).lines)
    except BadInput:
        assert word == "refused"
    assert time.process_time() - begin < SLOW, "a hang"
    return word


def check(found: Measurement, with_parameters: bool) -> None:
    """No curve holds what is no number, no parameter is refused in silence."""
    for sweep in found.sweeps:
        assert np.isfinite(sweep.gate_voltage).all()
        assert np.isfinite(sweep.drain_current).all()
    for curve in found.output_curves:
        assert np.isfinite(curve.drain_voltage).all()
        assert np.isfinite(curve.drain_current).all()
    assert found.sweeps or found.output_curves or found.capacitance
    if with_parameters and 0 < len(found.sweeps) < 40:
        for result in extract(found.sweeps):
            for name, parameter in result.parameters.items():
                assert parameter.valid or parameter.why_not, name
                assert parameter.value is None or np.isfinite(parameter.value), name


def main(count: int) -> int:
    """Read that many damaged files; 1 when one of them ended in another way."""
    random, sound, told, wrong = np.random.default_rng(SEED), seeds(), Counter[str](), 0
    slowest = 0.0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "damaged.csv"
        for number in range(count):
            content = damaged(sound[int(random.integers(len(sound)))], random)
            path.write_bytes(content)
            begin = time.process_time()
            try:
                told[outcome(path, number % WITH_PARAMETERS == 0)] += 1
            except Exception:  # noqa: BLE001 - the point is to find them
                wrong += 1
                kept = Path(f"damaged-{number}.bin")
                kept.write_bytes(content)
                print(f"{kept}: {traceback.format_exc(limit=-3)}", flush=True)
            slowest = max(slowest, time.process_time() - begin)
    print(
        f"{count} files, seed {SEED}: "
        + ", ".join(f"{n} {word}" for word, n in sorted(told.items()))
        + f"; {wrong} ended in another way; slowest {slowest:.2f} s of processor"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000))
