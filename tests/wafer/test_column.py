"""A column and an etch through it, against times known by hand."""

import pickle

import pytest

from filmwright.wafer.actions import EtchRate
from filmwright.wafer.column import Column, Layer, etched
from filmwright.wafer.plan import start_column

NM = 1e-9


def column(*films: tuple[str, float]) -> Column:
    return start_column(("silicon", 5e-4), [(material, thickness * NM) for material, thickness in films])


def rates(**down: float) -> dict[str, EtchRate]:
    return {material: EtchRate(down=rate * NM, sideways=0.0) for material, rate in down.items()}


@pytest.mark.analytic
def test_what_is_uncovered_midway_is_attacked_midway() -> None:
    # 37 nm of a at 1 nm/s is through after 37 s; 63 s remain at 2 nm/s: 126 nm of b.
    after, eaten = etched(column(("b", 300), ("a", 37)), rates(a=1.0, b=2.0), 100.0)
    assert after.thickness("b") == pytest.approx((300 - 126) * NM)
    assert [(bite.layer.material, round(bite.begun)) for bite in eaten] == [("a", 0), ("b", 37)]


@pytest.mark.analytic
def test_a_material_without_a_rate_stops_the_etch() -> None:
    after, eaten = etched(column(("c", 50), ("b", 10), ("a", 10)), rates(a=1.0, c=1.0), 100.0)
    assert [layer.material for layer in after.layers] == ["silicon", "c", "b"]
    assert len(eaten) == 1


@pytest.mark.analytic
def test_a_film_is_gone_at_the_end_point_and_not_before() -> None:
    for time, left in ((9.0, 1.0), (10.0, 0.0)):
        after, _ = etched(column(("a", 10)), rates(a=1.0), time)
        assert after.thickness("a") == pytest.approx(left * NM, abs=1e-15)


@pytest.mark.property
def test_the_body_is_never_used_up() -> None:
    after, _ = etched(
        Column((Layer(material="silicon", film="body", thickness=1e-9, born=0),)), rates(silicon=1.0), 100.0
    )
    assert len(after.layers) == 1


@pytest.mark.property
def test_an_etch_in_two_parts_is_one_etch() -> None:
    start = column(("c", 80), ("b", 40), ("a", 25))
    speed = rates(a=1.0, b=0.7, c=0.3)
    once, _ = etched(start, speed, 150.0)
    half, _ = etched(start, speed, 61.0)
    twice, _ = etched(half, speed, 89.0)
    assert [layer.thickness for layer in twice.layers] == pytest.approx(
        [layer.thickness for layer in once.layers]
    )


@pytest.mark.property
def test_layers_are_checked() -> None:
    with pytest.raises(ValueError, match="above zero"):
        Layer(material="a", film="a", thickness=0.0, born=1)
    with pytest.raises(ValueError, match="between 0 and 1"):
        Layer(material="a", film="a", thickness=1.0, born=1, side_wall=1.5)


@pytest.mark.analytic
def test_reading_a_column() -> None:
    stack = column(("a", 10), ("b", 20))
    assert stack.height == pytest.approx(5e-4 + 30 * NM)
    assert stack.top.material == "b"
    assert stack.film("b (as bought, 2)") is stack.layers[2]
    assert stack.film("x") is None
    assert stack.marked_top("wet").top.marks == {"wet"}
    assert stack.without("a (as bought, 1)").top.material == "b"
    assert stack.without("a (as bought, 1)", everything_above=True).top.material == "silicon"


@pytest.mark.property
def test_a_copied_column_is_the_same_column() -> None:
    stack = column(("a", 10), ("b", 20))
    assert {stack: 1}[pickle.loads(pickle.dumps(stack))] == 1
    assert "_hash" not in vars(pickle.loads(pickle.dumps(stack)))
