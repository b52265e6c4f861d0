"""Four contacts on a sheet, against published tables, a resistor grid and a conformal map."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import sparse
from scipy.sparse.linalg import spsolve

from filmwright.device import (
    SheetOutline,
    contact_size_shift,
    dual_configuration_sheet_resistance,
    probe_factor,
    thickness_factor,
    van_der_pauw_factor,
    van_der_pauw_sheet_resistance,
)

SMITS = "F. M. Smits, Bell Syst. Tech. J. 37, 711 (1958), from memory, arithmetic recomputed"
LINE = [(-1.5, 0.0), (-0.5, 0.0), (0.5, 0.0), (1.5, 0.0)]


@pytest.mark.literature
def test_the_boundless_sheet_has_the_known_factor():
    # π/ln 2, SMITS
    assert probe_factor(LINE, SheetOutline()) == pytest.approx(4.53236, rel=1e-5)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("side", "factor"),
    [(3, 2.4562), (4, 3.1134), (5, 3.5098), (7.5, 4.0089), (10, 4.2208), (15, 4.3878), (20, 4.4498), (40, 4.5114)],
)  # fmt: skip
def test_the_square_of_the_table(side, factor):
    # SMITS, table for a square
    outline = SheetOutline(kind="rectangle", length=side, width=side)
    assert probe_factor(LINE, outline) == pytest.approx(factor, rel=2e-5)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("width", "factor"),
    [(1.5, 1.4788), (1.75, 1.7197), (2, 1.9454), (2.5, 2.3532), (3, 2.7), (4, 3.2244), (5, 3.5749), (10, 4.2356)],
)  # fmt: skip
def test_the_rectangle_twice_as_long_as_wide(width, factor):
    # SMITS, table for a = 2d
    outline = SheetOutline(kind="rectangle", length=2 * width, width=width)
    assert probe_factor(LINE, outline) == pytest.approx(factor, rel=5e-5)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("width", "factor"), [(1, 0.9994), (1.25, 1.2468), (2, 1.9475), (5, 3.575), (40, 4.5123)]
)
def test_the_long_strip(width, factor):
    # SMITS; the entry for 1.25 often printed as 1.2248 cannot be right
    assert probe_factor(LINE, SheetOutline(kind="strip", width=width)) == pytest.approx(factor, rel=5e-5)


@pytest.mark.literature
@pytest.mark.parametrize(("share", "factor"), [(0.005, 4.531), (0.02, 4.517), (0.05, 4.436), (0.1, 4.171)])
def test_the_round_wafer(share, factor):
    # SEMI MF84, table of the finite diameter (from memory, arithmetic recomputed), to 0.0015
    outline = SheetOutline(kind="disc", diameter=1 / share)
    assert probe_factor(LINE, outline) == pytest.approx(factor, abs=0.0015)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("thickness", "factor"),
    [(0.3, 1.0), (0.4, 0.9995), (0.5, 0.9974), (0.7, 0.9816), (0.9, 0.9459), (1, 0.9215), (2, 0.6337), (5, 0.2753)],
)  # fmt: skip
def test_the_thickness_factor(thickness, factor):
    # A. Uhlir, Bell Syst. Tech. J. 34, 105 (1955); SEMI MF84 (from memory, arithmetic recomputed), to 1e-4
    assert thickness_factor(LINE, thickness) == pytest.approx(factor, abs=1e-4)


@pytest.mark.analytic
def test_a_half_plane_read_along_its_edge_shows_twice_as_much():
    on_edge = [(x, 1e-7) for x, _ in LINE]
    inside = probe_factor(LINE, SheetOutline())
    assert probe_factor(on_edge, SheetOutline(kind="half plane")) == pytest.approx(inside / 2, rel=1e-6)


def grid_reading(mask, pins, current, voltage):
    """V/I of a square grid of unit resistors: the cells of ``mask``, half as conducting along a free edge.

    An edge between two nodes conducts by the half cells on its two sides that belong to the sample.
    """
    rows, cols = mask.shape
    number = np.arange((rows + 1) * (cols + 1)).reshape(rows + 1, cols + 1)
    wide = np.pad(mask.astype(float), 1)
    across = (wide[:-1, 1:-1] + wide[1:, 1:-1]) / 2  # between (i, j) and (i, j+1)
    down = (wide[1:-1, :-1] + wide[1:-1, 1:]) / 2
    one = np.concatenate([number[:, :-1].ravel(), number[:-1].ravel()])
    two = np.concatenate([number[:, 1:].ravel(), number[1:].ravel()])
    g = np.concatenate([across.ravel(), down.ravel()])
    keep = g > 0
    one, two, g = one[keep], two[keep], g[keep]
    size = number.size
    matrix = sparse.coo_matrix(
        (np.concatenate([g, g, -g, -g]), (np.concatenate([one, two, one, two]), np.concatenate([one, two, two, one]))),
        shape=(size, size),
    ).tocsr()  # fmt: skip
    used = np.flatnonzero(matrix.diagonal() > 0)
    nodes = [number[pin] for pin in pins]
    right = np.zeros(size)
    right[nodes[current[0]]], right[nodes[current[1]]] = 1.0, -1.0
    free = used[used != nodes[current[1]]]
    found = np.zeros(size)
    found[free] = spsolve(matrix[free][:, free].tocsc(), right[free])
    return found[nodes[voltage[0]]] - found[nodes[voltage[1]]]


@pytest.mark.reference
def test_a_rectangle_off_its_middle_reads_as_a_grid_of_resistors_does():
    # 5 wide, 3 high, 32 cells to the spacing; scipy's sparse solver
    mesh, length, width = 32, 5.0, 3.0
    mask = np.ones((int(width * mesh), int(length * mesh)), dtype=bool)
    places = [(0.75, 0.5), (1.75, 0.5), (2.75, 1.0), (3.75, 1.5)]
    outline = SheetOutline(kind="rectangle", length=length, width=width)
    pins = [(x - length / 2, y - width / 2) for x, y in places]
    nodes = [(round(y * mesh), round(x * mesh)) for x, y in places]
    for current, voltage in (((0, 3), (1, 2)), ((0, 2), (1, 3)), ((0, 1), (3, 2))):
        read = grid_reading(mask, nodes, current, voltage)
        assert 1 / probe_factor(pins, outline, current, voltage) == pytest.approx(read, rel=2e-3)


@pytest.mark.reference
def test_a_crooked_sample_of_unit_sheet_resistance_is_found():
    # An L of unequal arms, contacts at corners of its rim; a grid of unit resistors, scipy's sparse solver
    mask = np.zeros((180, 220), dtype=bool)
    mask[:70, :] = True
    mask[:, :50] = True
    pins = [(0, 0), (0, 220), (70, 140), (180, 20)]
    first = grid_reading(mask, pins, (0, 1), (3, 2))
    second = grid_reading(mask, pins, (1, 2), (0, 3))
    assert max(first, second) / min(first, second) > 3
    assert van_der_pauw_sheet_resistance(first, second) == pytest.approx(1.0, rel=0.01)


@pytest.mark.literature
@pytest.mark.parametrize(
    ("ratio", "factor"),
    [(1, 1), (1.5, 0.98599), (2, 0.96028), (3, 0.90668), (5, 0.82166), (10, 0.69926), (20, 0.58854), (50, 0.47156), (100, 0.40385)],
)  # fmt: skip
def test_the_factor_of_unequal_readings(ratio, factor):
    # L. J. van der Pauw, Philips Res. Rep. 13, 1 (1958); ASTM F76 (from memory, arithmetic recomputed), to 1e-5
    assert van_der_pauw_factor(ratio) == pytest.approx(factor, abs=1e-5)
    assert van_der_pauw_factor(1 / ratio) == pytest.approx(factor, abs=1e-5)


@pytest.mark.literature
def test_the_worked_example():
    # 100 Ω and 40 Ω give 295.972 Ω per square (the same source)
    assert van_der_pauw_sheet_resistance(100, 40) == pytest.approx(295.972, abs=1e-3)


@pytest.mark.property
@given(st.floats(1e-3, 1e9), st.floats(-6, 6))
def test_the_solution_satisfies_the_theorem(size, decades):
    first, second = size, size * 10**decades
    found = van_der_pauw_sheet_resistance(first, second)
    assert math.exp(-math.pi * first / found) + math.exp(-math.pi * second / found) == pytest.approx(
        1.0, rel=1e-9
    )


@pytest.mark.literature
def test_two_configurations_and_a_polynomial():
    # SEMI MF1529, Ka = −14.696 + 25.173·x − 7.872·x² (from memory): within 0.1 % for x = Ra/Rb from 1.22 to 1.30
    for x in (1.22, 1.24, 1.26186, 1.28, 1.30):
        found = dual_configuration_sheet_resistance(1.0, 1.0 / x)
        assert found == pytest.approx(np.polyval([-7.872, 25.173, -14.696], x), rel=1e-3)
    assert dual_configuration_sheet_resistance(
        math.log(2) / math.pi, math.log(3) / (2 * math.pi)
    ) == pytest.approx(1)


@pytest.mark.property
@given(st.lists(st.floats(0.5, 2.0), min_size=3, max_size=3))
def test_two_configurations_do_not_care_for_the_spacings(gaps):
    pins = [(x, 0.0) for x in np.concatenate([[0.0], np.cumsum(gaps)])]
    outer = 1 / probe_factor(pins, SheetOutline())
    crossed = 1 / probe_factor(pins, SheetOutline(), (0, 2), (1, 3))
    assert dual_configuration_sheet_resistance(outer, crossed) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.analytic
@pytest.mark.parametrize("size", [0.02, 0.05, 0.1])
def test_a_long_contact_lowers_the_reading_as_a_conformal_map_says(size):
    # The disc of diameter 1 on the half plane, contact A there −a … a, the other three points; then a·cosh: A becomes
    # the unit circle, which images answer exactly.
    def to_half_plane(angle):
        return math.tan(angle / 2)

    a = to_half_plane(size)  # half the arc is size/2 long, at radius 1/2 an angle of size
    b, c, d = (to_half_plane(angle) / a for angle in (math.pi / 2, math.pi - 1e-9, -math.pi / 2))

    def outside(z):
        return z + math.copysign(math.sqrt(z * z - 1), z)

    def potential(place, sources):
        total = 0.0
        for strength, at in sources:
            total -= strength / math.pi * math.log(abs(place - at))
            total += strength / math.pi * math.log(abs(place - 1 / at))
        return total

    wb, wc, wd = (outside(z) for z in (b, c, d))
    # Current from A to B, voltage of D less that of C; the sink at B leaves the whole current on the circle.
    first = potential(wd, [(-1, wb)]) - potential(wc, [(-1, wb)])
    # Current from B to C, voltage of A less that of D.
    pair = [(1, wb), (-1, wc)]
    second = potential(1.0, pair) - potential(wd, pair)
    lost = 1 - van_der_pauw_sheet_resistance(first, second)
    assert contact_size_shift("along the edge", size, 1.0) == pytest.approx(lost, rel=0.05)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: van_der_pauw_sheet_resistance(0, 1), "first"),
        (lambda: dual_configuration_sheet_resistance(1, 1.2), "mixed up"),
        (lambda: probe_factor(LINE, SheetOutline(kind="disc", diameter=2)), "pin 1 outside"),
        (lambda: probe_factor([LINE[0], *LINE[:3]], SheetOutline()), "two at one"),
        (lambda: SheetOutline(kind="strip"), "width"),
        (lambda: thickness_factor(LINE, 0), "thickness"),
        (lambda: contact_size_shift("along the edge", 0.3, 1.0), "quarter"),
    ],
)
def test_what_cannot_be_is_refused(call, said):
    with pytest.raises(ValueError, match=said):
        call()
