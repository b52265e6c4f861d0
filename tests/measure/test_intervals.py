"""Intervals of 95 % hold the truth in about 95 of 100 cases, parameter by parameter."""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))
from intervals import NAMES, Told, cases, held, study

PAGE = Path(__file__).resolve().parents[2] / "docs" / "intervals.md"


@pytest.mark.property
def test_intervals_hold_the_truth() -> None:
    # 93 to 97 % are aimed at, over all kinds of device and curve; the fewest intervals here (about 800) scatter by 0.8 %.
    told: dict[str, list[Told]] = defaultdict(list)
    for case in cases(shares=(0.01,)):
        for each in study(case, 32):
            told[each.name].append(each)
    assert set(told) == set(NAMES)
    off = {name: held(each) for name, each in told.items() if not 0.91 <= held(each)[0] <= 0.99}
    assert not off


@pytest.mark.golden
def test_the_page_tells_of_every_parameter() -> None:
    page = PAGE.read_text("utf-8")
    assert all(f"| {name.replace('_', ' ')} |" in page for name in NAMES)
