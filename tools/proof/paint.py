"""How soon each page of the bench is painted in a browser that has nothing of it yet, and how much script and style it loads.

python tools/proof/paint.py [--repeats 3] [--slower 1]

Serves the invented bench by ``filmwright serve`` and begins as soon as that gives its address. Needs Chromium (Debian package chromium).
"""

from __future__ import annotations

import argparse
import math
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from filmwright.desk.bench import Bench, example_bench

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
PATIENCE = 120_000
"""Milliseconds; a machine that does many things at once is slow, not wrong."""
SOON = 1000.0
"""Within how many milliseconds of the call the content of a page has to be there."""
SCRIPT = 200_000
"""Bytes of script that a page may load, as they go over the network."""
COLUMNS = ("answered", "painted", "answered", "painted", "page", "script", "style")
SEEN = """async () => {
  const largest = await new Promise((done) => {
    new PerformanceObserver((list) => done(list.getEntries().at(-1).startTime))
      .observe({type: "largest-contentful-paint", buffered: true});
    setTimeout(() => done(0), 5000);
  });
  const first = performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0;
  const loaded = performance.getEntriesByType("resource").map((each) => [new URL(each.name).pathname, each.encodedBodySize]);
  const [itself] = performance.getEntriesByType("navigation");
  return {first, largest, answered: itself.responseStart, page: itself.encodedBodySize, loaded};
}"""


@dataclass(frozen=True, kw_only=True)
class Paint:
    """One page as it came: milliseconds from the call, and bytes as they went over the network."""

    answered: float
    painted: float
    page: int
    script: int
    style: int


@contextmanager
def served(record: Path, plans: Path) -> Iterator[str]:
    """The address of ``filmwright serve`` before a record, as soon as it says it."""
    program = Path(sys.executable).with_name("filmwright")
    words = [str(program), "serve", "--record", str(record), "--plans", str(plans), "--port", "0", "--json"]
    running = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert running.stdout is not None
    try:
        said = ""
        while '"address"' not in said:
            line = running.stdout.readline()
            assert line, "the server did not start"
            said += line
        yield said.split('"address": "')[1].split('"')[0]
    finally:
        running.terminate()
        running.wait(30)


def addresses(bench: Bench) -> dict[str, str]:
    """Every kind of page, by what it is called; the lot is the one furthest from its end."""
    lot = max(bench.going(), key=lambda each: sum(bool(piece.next) for piece in each.present)).lot
    step = next(piece.next for piece in bench.progress(lot).present if piece.next)
    wafer = bench.lot(lot).wafers[0]
    found = {
        "today": "/", "all lots": "/lots", "start a lot": "/lots/new", "lot": f"/lot/{lot}",
        "lot, every step": f"/lot/{lot}?open=all", "where was I": f"/lot/{lot}/resume", "step": f"/lot/{lot}/step/{step}",
        "wafer": f"/lot/{lot}/wafer/{wafer}", "flow": f"/lot/{lot}/flow", "measurements": f"/lot/{lot}/measurements",
        "labels": f"/labels/{lot}", "from paper": f"/lot/{lot}/paper", "tools": "/tools", "plans": "/plans", "parts": "/parts",
    }  # fmt: skip
    tools = sorted(bench.lab_now().tools)
    if tools:
        found["tool"] = f"/tool/{tools[0]}"
    plans = sorted(bench.plans.glob("*/plan.yaml")) if bench.plans is not None else []
    if plans:
        found["plan"] = f"/plan/{plans[0].parent.name}/plan.yaml"
    return found


def painted(browser: Browser, address: str, path: str, slower: float) -> Paint:
    """One page in a browser that keeps nothing from before."""
    context = browser.new_context(
        viewport={"width": 1024, "height": 768}, base_url=address, service_workers="block"
    )
    page: Page = context.new_page()
    page.set_default_timeout(PATIENCE)
    if slower > 1:
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slower})
    answer = page.goto(path, wait_until="load")
    assert answer is not None
    assert answer.ok, f"{path}: {answer.status}"
    seen: dict[str, Any] = page.evaluate(SEEN)
    context.close()

    def bytes_of(ending: str) -> int:
        return sum(size for name, size in seen["loaded"] if name.endswith(ending))

    return Paint(
        answered=seen["answered"],
        # The largest thing on it, where the browser tells: before that the page is hardly of use.
        painted=max(seen["first"], seen["largest"]) if seen["first"] else math.inf,
        page=seen["page"],
        script=bytes_of(".js"),
        style=bytes_of(".css"),
    )


def wrong_in(name: str, looks: list[Paint]) -> list[str]:
    """What misses its goal, of the first look at a page and of later ones."""
    first, later = looks[0].painted, statistics.median(each.painted for each in looks[1:])
    wrong = [
        f"{name}: painted {then:.0f} ms after {asked} call, not within {SOON:.0f} ms"
        for asked, then in (("the first", first), ("a later", later))
        if then >= SOON
    ]
    if looks[0].script >= SCRIPT:
        wrong.append(f"{name}: {looks[0].script} bytes of script, not below {SCRIPT}")
    return wrong


def line(name: str, looks: list[Paint]) -> str:
    """One page in the table."""
    first, later = looks[0], looks[1:]
    times = (
        first.answered, first.painted,
        statistics.median(each.answered for each in later), statistics.median(each.painted for each in later),
    )  # fmt: skip
    sizes = (first.page, first.script, first.style)
    return (
        f"{name:<18}"
        + "".join(f"{each:>7.0f} ms" for each in times)
        + "".join(f"{each / 1e3:>7.1f} kB" for each in sizes)
    )


def main() -> int:
    """Print a line for each page, and what misses its goal."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--repeats", type=int, default=3)
    ask.add_argument("--slower", type=float, default=1.0, help="how many times slower the browser computes")
    asked = ask.parse_args()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        story = example_bench(Path(folder))
        with Bench.open(story.record, plans=story.plans) as bench:
            paths = addresses(bench)
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        with served(story.record, story.plans) as address:
            painted(browser, address, "/healthz", 1)  # the browser's own start is not the page's
            print(f"{'':<18}{'first call':^20}{'later calls':^20}{'compressed':^30}")
            print(f"{'page':<18}" + "".join(f"{each:>10}" for each in COLUMNS))
            for name, path in paths.items():
                looks = [painted(browser, address, path, asked.slower) for _ in range(1 + asked.repeats)]
                print(line(name, looks), flush=True)
                wrong += wrong_in(name, looks)
        browser.close()
    print(
        "\n".join(wrong)
        or f"each page painted within {SOON:.0f} ms, with less than {SCRIPT / 1e3:.0f} kB of script"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
