"""A new version changes what lies ahead, for a reason; an irreversible step waits for its hold point."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from filmwright.desk.bench import Bench
from filmwright.desk.bench import versions as of_versions
from filmwright.desk.bench.holds import HOLD_POINT, check_start
from filmwright.desk.bench.versions import NewVersion, Stopped, save_version
from filmwright.errors import BadInput
from filmwright.record import Event
from filmwright.review import Finding

Make = Callable[..., Event]
A = "K7M-4H7"
PRINT = ("3.1", "3.2", "3.3", "3.4", "3.5", "3.6", "3.7")


@pytest.fixture(autouse=True)
def quiet(monkeypatch: pytest.MonkeyPatch) -> None:
    """The drawing of the small flow does not exist, so that nothing is reviewed."""
    monkeypatch.setattr(of_versions, "_findings", lambda *_: ())


def changed(bench: Bench, old: str, new: str, **more: str) -> NewVersion:
    text = bench.flow_text(A)
    assert old in text
    return NewVersion(
        lot=A, text=text.replace(old, new), **{"why": "the etch was too slow", "who": "AB", **more}
    )


@pytest.mark.analytic
def test_what_lies_ahead_may_change_and_the_newest_flow_holds(bench: Bench, entry: Make) -> None:
    bench.store.append([entry("finish", "1.1"), entry("finish", "2.1")])
    version = save_version(bench, changed(bench, "time: 20 s", "time: 30 s"))
    assert (version.number, version.why) == (2, "the etch was too slow")
    assert bench.flow(A).steps[9].asked["time"].value == 30.0
    assert bench.flow(A, bench.versions(A)[0].digest).steps[9].asked["time"].value == 20.0
    assert bench.progress(A).cell("W1", "2.1").state == "done"


@pytest.mark.analytic
def test_what_was_begun_stays_as_it_was(bench: Bench, entry: Make) -> None:
    bench.store.append([entry("start", "2.1", wafer="W2")])
    with pytest.raises(BadInput, match="02A, which was begun") as bad:
        save_version(bench, changed(bench, "thickness: 60 nm", "thickness: 70 nm"))
    assert bad.value.problems[0].line == bench.flow(A).steps[1].line
    with pytest.raises(BadInput, match="the wafer, the drawing"):
        save_version(bench, changed(bench, "diameter: 100 mm", "diameter: 76 mm"))
    assert len(bench.versions(A)) == 1


@pytest.mark.analytic
def test_a_version_has_a_reason_and_is_written_from_the_newest(bench: Bench) -> None:
    with pytest.raises(BadInput) as bad:
        save_version(bench, changed(bench, "time: 20 s", "time: 30 s", why=" ", seen="0" * 64))
    assert [problem.what for problem in bad.value.problems] == [
        "the reason of the new version", "the version that it was written from",
    ]  # fmt: skip
    key = "00000000-0000-4000-8000-00000000f10a"
    again = changed(bench, "time: 20 s", "time: 30 s", id=key)
    assert save_version(bench, again) == save_version(bench, again)
    assert len(bench.versions(A)) == 2


@pytest.mark.analytic
def test_an_etch_waits_for_the_look_at_the_resist(bench: Bench, entry: Make) -> None:
    bench.store.append([entry("finish", step) for step in ("1.1", "2.1", *PRINT)])
    with pytest.raises(BadInput, match="edges straight"):
        check_start(bench.progress(A), "4.1")
    bench.store.append([entry("hold", "3.7", name="go", wafer="W1")])
    check_start(bench.progress(A), "4.1", ["W1"])
    with pytest.raises(BadInput, match="nothing for W2"):
        check_start(bench.progress(A), "4.1")
    bench.store.append([entry("acknowledge", "3.7", name=HOLD_POINT, text="microscope is down", who="owner")])
    check_start(bench.progress(A), "4.1")
    check_start(bench.progress(A), "3.7")


@pytest.mark.analytic
def test_a_look_that_was_skipped_is_still_to_be_decided(bench: Bench, entry: Make) -> None:
    bench.store.append([entry("finish", step) for step in ("1.1", "2.1", *PRINT[:-1])])
    bench.store.append([entry("skip", "3.7", text="in a hurry")])
    with pytest.raises(BadInput, match="edges straight"):
        check_start(bench.progress(A), "4.1")
    bench.store.append([entry("hold", "3.7", name="go")])
    check_start(bench.progress(A), "4.1")


@pytest.mark.analytic
def test_every_stop_ahead_is_accepted_with_a_reason_or_nothing_is_saved(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stops(*_: object) -> tuple[Finding, ...]:
        common = {
            "severity": "stop",
            "what": "the etch",
            "expected": "slower",
            "got": "fast",
            "why": "it is thin",
            "source": "a test",
        }
        return tuple(
            Finding(rule=rule, step=step, remedy="dilute", line=9, **common)  # type: ignore[arg-type]
            for rule, step in (("etch attacks film", "4.1"), ("film must survive", "4.1"))
        )

    monkeypatch.setattr(of_versions, "_findings", stops)
    wanted = changed(bench, "time: 20 s", "time: 30 s")
    with pytest.raises(Stopped) as bad:
        save_version(bench, replace(wanted, acknowledged={"etch attacks film": "a dummy"}))
    assert bad.value.rules == ("etch attacks film", "film must survive")
    assert len(bad.value.problems) == 1
    both = replace(wanted, acknowledged={"etch attacks film": "a dummy", "film must survive": "it need not"})
    assert save_version(bench, both).number == 2
    kept = [(each.name, each.text, each.who) for each in bench.written(A) if each.kind == "acknowledge"]
    assert kept == [("etch attacks film", "a dummy", "AB"), ("film must survive", "it need not", "AB")]
