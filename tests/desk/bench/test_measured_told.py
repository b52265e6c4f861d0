"""What the page of measurements tells is what the words statistics and compare tell, part after part."""

import itertools
from concurrent.futures import Future

import numpy as np
import pytest

from filmwright import desk
from filmwright.desk.bench import Bench, measured_lots
from filmwright.desk.bench.measured_devices import Drawn, MeasuredDevice, Number
from filmwright.desk.bench.measured_lots import MeasuredLots
from filmwright.desk.bench.measured_told import STAGES, Told, comparison, parameters, printed
from filmwright.desk.bench.measured_views import curve_of, maps_of, parameters_of, round_levels, strip_of
from filmwright.desk.bench.measurements import Trays, understood
from filmwright.desk.explain import gather
from filmwright.measure import Geometry
from filmwright.record import Store


@pytest.fixture(scope="module")
def lot(probed):
    with Store.open(probed) as store:
        return next(iter(store.lots())).name


@pytest.fixture(scope="module")
def story(probed, lot):
    with Store.open(probed) as store:
        return gather(store, lot)


@pytest.fixture(scope="module")
def found(story):
    return comparison(story, parameters(story))


@pytest.mark.whole
def test_it_is_what_the_command_line_tells(probed, lot, found):
    assert found.statistics["medians"] == desk.statistics(lot=lot, record=probed).fields()["medians"]
    compared = desk.compare(lot, record=probed)
    assert found.compared["cells"] == [row.cells for row in compared.rows]
    assert found.compared["explained"] == compared.fields()["explained"]
    assert {"rest"} <= {share["cause"] for each in found.compared["explained"] for share in each["shares"]}
    assert not found.problems
    assert not found.unread


@pytest.mark.whole
def test_figures_for_print_are_drawn_when_they_are_asked_for(story):
    figures = printed(story)
    assert len(figures) > 1
    assert all(svg.lstrip().startswith(("<?xml", "<svg")) for _, svg in figures)


@pytest.mark.whole
def test_every_device_has_its_numbers_with_errors_its_place_and_its_curves(found):
    assert {each.cause for each in found.devices} >= {"works"}
    for each in found.devices:
        assert abs(each.x_mm) <= found.half[0]
        assert abs(each.y_mm) <= found.half[1]
        assert [(curve.drain, curve.direction) for curve in each.curves] == [
            (0.1, "forward"), (0.1, "backward"), (5.0, "forward"), (5.0, "backward"),
        ]  # fmt: skip
        assert all(len(curve.gate) == len(curve.current) == len(curve.expected) for curve in each.curves)
    working = [each for each in found.devices if each.counts]
    assert all(0 < each.numbers["threshold_voltage"].std < 1 for each in working)
    medians = found.statistics["medians"]
    own = np.median([each.numbers["threshold_voltage"].value for each in working])
    assert own == pytest.approx(medians["threshold_voltage"]["median"], rel=1e-6)


@pytest.mark.whole
def test_maps_show_every_device_of_a_wafer_once_and_the_farthest_one_largest(found):
    parameter = parameters_of(found)[0]
    maps = maps_of(found, parameter)
    assert sum(len(each.marks) for each in maps) == len(found.devices)
    assert [each.wafer for each in maps_of(found, parameter, maps[0].wafer)] == [maps[0].wafer]
    marks = [mark for each in maps for mark in each.marks if mark.kind in ("above", "below")]
    middle = np.median([mark.device.numbers[parameter].value for mark in marks])
    far = max(marks, key=lambda mark: abs(mark.device.numbers[parameter].value - middle))
    assert far.size == max(mark.size for mark in marks)
    assert all((mark.device.numbers[parameter].value >= middle) == (mark.kind == "above") for mark in marks)
    strip = strip_of(found, parameter)
    places = [(mark.x, mark.device.numbers[parameter].value) for row in strip.rows for mark in row.marks]
    assert sorted(places) == sorted(places, key=lambda each: each[1])


def device(name="T01", cause="works", value=1.0, std=0.02, curves=()):
    numbers = {"threshold_voltage": Number(value=value, std=std, unit="V")} if value is not None else {}
    return MeasuredDevice(
        wafer="W1", device=name, cause=cause, x_mm=0.0, y_mm=0.0, numbers=numbers, curves=curves
    )


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "std", "shown"),
    [
        (1.0537, 0.0953, "1.054 ± 0.095 V"),
        (1.0537, None, "1.054 V"),
        (-0.0051, 0.0021, "−0.0051 ± 0.0021 V"),
        (1.675e-12, 5.9e-14, "1.675e−12 ± 5.9e−14 V"),
        (0.0, 0.3, "0.00 ± 0.30 V"),
        (120.0, 30.0, "120 ± 30 V"),
    ],
)
def test_a_number_has_as_many_digits_as_its_error_allows(value, std, shown):
    assert Number(value=value, std=std, unit="V").shown == shown


@pytest.mark.analytic
def test_what_does_not_work_is_a_cross_what_is_alone_is_no_axis():
    one = Told(devices=(device(), device("T02", "dead", None)), half=(1.0, 2.0))
    (found,) = maps_of(one, "threshold_voltage")
    assert [mark.kind for mark in found.marks] == ["above", "fault"]
    assert (found.height - 28) / (found.width - 28) == pytest.approx(2.0)
    assert strip_of(one, "threshold_voltage") is None
    assert curve_of(one.devices[0]) is None
    assert round_levels(0.0, 1.0) == (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
    assert round_levels(1.0, 1.0) == ()


@pytest.mark.analytic
def test_a_decade_of_current_is_as_high_anywhere_on_its_axis():
    gates = (0.0, 1.0, 2.0, 3.0)
    curve = Drawn(drain=0.1, direction="forward", gate=gates, current=(1e-12, 1e-10, -1e-8, 1e-6))
    view = curve_of(device(curves=(curve,)))
    points = [tuple(map(float, each.split(","))) for each in view.lines[0].points.split()]
    steps = np.diff(np.array(points), axis=0)
    assert steps[:, 1] == pytest.approx(steps[0, 1], abs=0.11)
    assert steps[0, 1] < 0
    assert steps[:, 0] == pytest.approx(steps[0, 0], abs=0.11)


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
        assert part == found
        assert not lots.doing(bench, lot).working
        assert part.waited_for == ""
        assert len(waiting) == len(STAGES)

    def walked(*_, **__):
        raise AssertionError("a wafer was walked again")

    monkeypatch.setattr("filmwright.desk.explain.walk_on", walked)
    assert measured_lots.stage(probed, lot, 1).statistics == found.statistics


@pytest.mark.whole
def test_a_stop_holds_until_somebody_goes_on_and_what_is_worked_out_stays(probed, lot, found):
    waiting = []

    def later(work, *asked):
        waiting.append(Future())
        return waiting[-1]

    lots = MeasuredLots(later)
    with Bench.open(probed) as bench:
        assert lots.doing(bench, lot).working
        waiting[0].set_result(Told(statistics=found.statistics, done=1))
        lots.stop(bench, lot)
        for each in waiting[1:]:
            each.cancel()
        doing = lots.doing(bench, lot)
        assert doing.stopped
        assert not doing.working
        assert doing.told.done == 1
        begun = len(waiting)
        assert lots.doing(bench, lot).stopped
        assert len(waiting) == begun
        lots.go_on(lot)
        assert lots.doing(bench, lot).working
        assert len(waiting) == begun + len(STAGES)


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
