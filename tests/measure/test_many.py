"""Many files: the broken one is told, the others come in order, in one process or several."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from filmwright.measure import read_tables


def files(folder: Path, count: int) -> list[Path]:
    paths = []
    for number in range(count):
        path = folder / f"T{number:03d}.csv"
        rows = "".join(f"{v:g},5,{(number + 1) * 1e-9 * max(v, 0):g}\n" for v in np.linspace(-1, 5, 13))
        path.write_text("VG,VD,ID\n" + rows)
        paths.append(path)
    paths[3].write_text("nothing here\n")
    paths[5].write_bytes(bytes(range(256)) * 9)
    paths[7].unlink()
    return paths


@pytest.mark.property
@pytest.mark.parametrize("processes", [1, 2])
def test_a_broken_file_stops_no_other_and_the_order_is_kept(tmp_path: Path, processes: int) -> None:
    paths = files(tmp_path, 450)
    told: list[tuple[int, int]] = []
    found = read_tables(
        paths, processes=processes, tell=lambda done, total, _what: told.append((done, total))
    )
    assert [Path(each.file).name for each in found.measurements] == [
        p.name for p in paths if p.name not in {"T003.csv", "T005.csv", "T007.csv"}
    ]
    assert {Path(each.file).name for each in found.problems} == {"T003.csv", "T005.csv", "T007.csv"}
    assert told[-1] == (450, 450)
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    last = found.measurements[-1].sweeps[0]
    np.testing.assert_allclose(last.drain_current, 450e-9 * np.maximum(last.gate_voltage, 0), rtol=1e-5)


@pytest.mark.property
def test_an_interrupt_ends_the_reading_and_its_processes(tmp_path: Path) -> None:
    def stop(done: int, _total: int, _what: str) -> None:
        if done >= 200:
            raise KeyboardInterrupt

    for processes in (1, 2):
        with pytest.raises(KeyboardInterrupt):
            read_tables(files(tmp_path, 900), processes=processes, tell=stop)
