"""What the page of measurements tells is what the words statistics and compare tell, part after part."""

import itertools
from concurrent.futures import Future

import numpy as np
import pytest

from filmwright import desk
from filmwright.desk.bench import Bench, measured_told
from filmwright.desk.bench.measured_told import STAGES, MeasuredLots, told
from filmwright.desk.bench.measurements import Trays, understood
from filmwright.measure import Geometry
from filmwright.record import Store


@pytest.fixture(scope="module")
def lot(probed):
    with Store.open(probed) as store:
        return next(iter(store.lots())).name


@pytest.fixture(scope="module")
def found(probed, lot):
    return told(probed, lot)


@pytest.mark.whole
def test_it_is_what_the_command_line_tells(probed, lot, found):
    assert found.statistics["medians"] == desk.statistics(lot=lot, record=probed).fields()["medians"]
    compared = desk.compare(lot, record=probed)
    assert found.compared["cells"] == [row.cells for row in compared.rows]
    assert found.compared["explained"] == compared.fields()["explained"]
    assert {"rest"} <= {share["cause"] for each in found.compared["explained"] for share in each["shares"]}
    assert all(svg.lstrip().startswith(("<?xml", "<svg")) for _, svg in found.figures)
    assert len(found.figures) > 1
    assert not found.problems


@pytest.mark.analytic
def test_hysteresis_is_between_both_directions_of_one_measured_curve(found):
    # The tables were made with a backward sweep 0.06 V beside the forward one; a predicted curve has none and is no partner.
    hysteresis = found.statistics["medians"]["hysteresis"]
    assert hysteresis["unit"] == "V"
    assert hysteresis["median"] == pytest.approx(0.06, abs=0.006)


@pytest.mark.whole
def test_parts_come_one_after_the_other_and_a_reason_later_walks_no_wafer_again(
    probed, lot, found, monkeypatch
):
    waiting = []

    def later(work, *asked):
        future = Future()
        waiting.append((future, work, asked))
        return future

    lots = MeasuredLots(later)
    with Bench.open(probed) as bench:
        assert lots.known(bench, lot) is None
        assert len(waiting) == len(STAGES)
        for done, (future, work, asked) in enumerate(waiting, 1):
            future.set_result(work(*asked))
            part = lots.known(bench, lot)
            assert part.done == done
            assert part.statistics == found.statistics
            assert (part.compared is None) == (done < 2)
            assert bool(part.figures) == (done == len(STAGES))
        assert part == found
        assert part.waited_for == ""
        assert len(waiting) == len(STAGES)

    def walked(*_, **__):
        raise AssertionError("a wafer was walked again")

    monkeypatch.setattr("filmwright.desk.explain.walk", walked)
    assert measured_told._stage(probed, lot, 1).statistics == found.statistics


@pytest.mark.whole
def test_a_shifted_row_is_told_on_the_tray_with_the_sizes_of_the_drawing(probed, lot):
    names = [f"T{k:02d}" for k in range(1, 21)]
    ratios = dict(
        zip(
            names, np.tile((2.0, 50.0, 5.0, 120.0, 10.0), 4) * np.repeat((1.0, 1.7, 0.6, 2.3), 5), strict=True
        )
    )
    sizes = {
        name: Geometry(width=ratio * 1e-5, length=1e-5, areal_capacitance=1e-3)
        for name, ratio in ratios.items()
    }
    gates = np.linspace(-2.0, 6.0, 41)

    def table(ratio):
        current = 1e-8 * ratio * np.logaddexp(0.0, 4 * (gates - 1.0)) + 1e-13
        return ("VG [V],VD [V],ID [A],IG [A]\n" + "".join(
            f"{g:.3f},0.1,{i:.6e},1e-13\n" for g, i in zip(gates, current, strict=True)
        )).encode()  # fmt: skip

    trays = Trays()
    with Bench.open(probed) as bench:
        right = trays.add(trays.begin(lot), [(f"{n}.csv", table(ratios[n])) for n in names])
        files, noticed = understood(bench, right, sizes)
        assert noticed == ()
        assert [each.device for each in files] == names
        assert "W 20 µm, L 10 µm" in files[0].sizes
        moved = [(f"{n}.csv", table(ratios[m])) for n, m in itertools.pairwise(names)]
        _, noticed = understood(bench, trays.add(trays.begin(lot), moved), sizes)
        assert len(noticed) == 1
        assert understood(bench, trays.add(trays.begin(lot), moved))[1] == ()
