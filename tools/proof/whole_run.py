"""Goes through the whole run of the example plan in a browser, by taps alone, and proves what the record holds then.

python tools/proof/whole_run.py [--example humidity-switch] [--until CODE] [--pictures demo/bench] [--looks paper,amber]

Needs Chromium (Debian package chromium). The pictures are kept to be looked at.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from playwright.sync_api import Browser, Error, Locator, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent))
from run_script import Script, script_of, wrong_in

from filmwright.desk import new
from filmwright.desk.bench import Bench
from filmwright.web import Settings
from filmwright.web.serving import server

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
PATIENCE = 120_000
"""Milliseconds; a machine that does many things at once is slow, not wrong."""
LOOKS: Mapping[str, tuple[int, int]] = {"paper": (1024, 768), "amber": (390, 844)}
WELL = "each step once for each wafer, in its order, in one chain"
_AWAY = ("context", "navigat", "detached", "not attached", "ERR_ABORTED")
"""Words of the browser when a page was replaced while it was being looked at."""
_T = TypeVar("_T")
SETTLED = """() => {
  const card = document.getElementById("card");
  return document.readyState === "complete" && !document.body.inert && (!card || card.dataset.ready === "yes");
}"""
GOAL = 4
"""Taps that an ordinary step may cost: start, finish with all as planned, a hold point, on to the next."""
GOAL_OF_VALUES = 6
"""Taps that a step with a confirmed value may cost; the figures of a number that is keyed in come on top."""


@dataclass(kw_only=True)
class Hand:
    """One tablet and the hand on it: follows the bar, counts its taps."""

    page: Page
    browser: Browser
    address: str
    script: Script
    pictures: Path | None
    look: str
    lot: str = ""
    taps: int = 0
    ordinary: Counter[int] = field(default_factory=Counter)
    confirmed: Counter[int] = field(default_factory=Counter)
    keyed: Counter[int] = field(default_factory=Counter)
    figures: int = 0
    done: set[str] = field(default_factory=set)
    seen: Counter[str] = field(default_factory=Counter)

    def look_at(self, look: Callable[[], _T]) -> _T:
        """What is seen. A page may come anew at any moment: looking, which changes nothing, then begins again."""
        until = time.monotonic() + PATIENCE / 1000
        while True:
            self.settled()
            try:
                return look()
            except Error as fault:
                if not any(each in str(fault) for each in _AWAY) or time.monotonic() > until:
                    raise

    def settled(self) -> None:
        """Wait until the page is whole and its script has taken over the forms."""
        self.page.wait_for_function(SETTLED)

    def tap(self, what: Locator) -> None:
        """One touch. A touch that met no target, because the page came anew, was not taken and is made again by the browser."""
        self.settled()
        what.click()
        self.taps += 1

    def press(self, word: str) -> None:
        """Touch the button with this word."""
        self.tap(self.page.get_by_role("button", name=word, exact=True).locator("visible=true").first)

    def open(self, word: str) -> None:
        """Touch what unfolds."""
        self.tap(self.page.locator("summary:visible", has_text=word).first)

    def bar(self) -> None:
        """Touch the main action."""
        self.tap(self.page.locator(".main-action:visible"))

    def write(self, label: str, text: str) -> None:
        """Write words into a field; one tap for the field."""
        self.settled()
        self.page.get_by_label(label, exact=True).locator("visible=true").first.fill(text)
        self.taps += 1

    def picture(self, name: str, once: bool = True) -> None:
        """Keep how the page looks, the first time that this kind of page is met."""
        self.seen[f"picture {name}"] += 1
        if self.pictures is None or (once and self.seen[f"picture {name}"] > 1):
            return
        self.page.screenshot(path=self.pictures / f"{self.look}-{name}.png")

    @property
    def card(self) -> dict[str, str]:
        """What the page of a step knows of itself."""
        found = self.look_at(lambda: self.page.locator("#card").evaluate("(each) => ({...each.dataset})"))
        assert isinstance(found, dict)
        return found

    def there(self, what: Locator) -> int:
        """How many of these are on the page."""
        return self.look_at(what.count)

    def arrive(self, card: str) -> None:
        """Wait for the page of a step."""
        self.page.wait_for_selector(card, state="attached")

    def stage(self, name: str) -> None:
        """Wait until the bar offers this."""
        self.page.locator(f'[data-for-stage="{name}"]:not([hidden])').wait_for(state="attached")

    def kept(self) -> None:
        """Wait until the server has everything."""
        self.page.locator('#kept[data-state="server"]').wait_for()

    def start_lot(self, plan: str, wafers: int) -> str:
        """From the list of plans to a lot."""
        self.page.goto("/plans")
        self.picture("plans")
        self.page.goto(f"/plan/{plan}")
        self.page.wait_for_selector("[data-editor][data-ready]")
        self.picture("plan")
        self.page.goto("/lots/new")
        self.page.locator("label.tick", has_text=plan).click()
        keys = self.page.get_by_role("group", name="Keys for How many wafers")
        for key in ("Clear", str(wafers)):
            self.tap(keys.get_by_role("button", name=key, exact=True))
        self.write("Your name or initials", "AB")
        self.picture("start-a-lot")
        self.bar()
        self.page.wait_for_url("**/lot/*")
        self.lot = self.page.url.rpartition("/")[2]
        return self.lot

    def walk(self, until: str = "") -> None:
        """Follow the bar from step to step until nothing is left, or a step is done for all."""
        while True:
            self.page.goto(f"/lot/{self.lot}")
            self.picture("lot")
            bar = self.page.locator(".main-action")
            coming = self.look_at(self.page.locator(".coming .step-code").all_inner_texts)
            if not self.there(bar) or (until and all(each > until for each in coming)):
                return
            self.bar()
            self.arrive("#card")
            while self.step():
                if until and self.card["code"] > until:
                    break

    def step(self) -> bool:
        """One step to its end; whether the bar then leads straight to the next one."""
        card = self.card
        code, stage = card["code"], card["stage"]
        if stage == "done":
            return False
        if stage in ("choose", "blocked"):
            self.picture(f"step-{stage}")
            self.bar()
            other = f'[data-code="{code}"]' if stage == "blocked" else '[data-wafer=""]'
            self.arrive(f"#card:not({other})")
            return True
        if code in self.script.offline[:1] and code not in self.done:
            self.network(False)
        return self.work(code, card["wafer"])

    def work(self, code: str, wafer: str) -> bool:
        """What a hand does at a step that stands before it; whether the bar then leads straight to the next one."""
        before, figures, how = self.taps, self.figures, "ordinary"
        if self.card_stage() == "ready":
            if code == self.script.split and not self.seen["split"]:
                self.split()
                return False
            if code == self.script.skip:
                self.skip()
            else:
                self.begin(code)
        if self.card_stage() == "running":
            if code == self.script.photo:
                self.photo()
            how = self.values(code)
            if self.card_stage() == "running":
                self.finish(code)
        if self.card_stage() == "held" and self.decide(code):
            return False
        self.stage("done")
        self.picture("step-done")
        self.done.add(code)
        if code in self.script.offline[-1:] and self.seen["offline"]:
            self.network(True)
        straight = not wafer and bool(self.there(self.page.locator(".main-action:visible", has_text="Next:")))
        if straight:
            self.bar()
            self.arrive(f'#card:not([data-code="{code}"])')
        if code not in self.script.unusual:
            getattr(self, how)[self.taps - before - (self.figures - figures)] += 1
        return straight

    def card_stage(self) -> str:
        """What the bar offers now, also where it waits on the device only."""
        self.settled()
        found = self.page.locator("[data-for-stage]:not([hidden])").first.get_attribute("data-for-stage")
        return found or ""

    def begin(self, code: str) -> None:
        """Start, with the clock where the plan gives a time, and a reload while the first one runs."""
        self.picture("step-ready")
        with_clock = self.page.locator("button:visible", has_text="Start with timer")
        if self.there(with_clock):
            self.tap(with_clock)
            self.stage("running")
            self.picture("step-with-timer")
            if not self.seen["reload"] and code not in self.script.offline:
                self.reload()
        else:
            self.bar()
            self.stage("running")

    def reload(self) -> None:
        """A reload in the middle of a clock changes nothing."""
        self.seen["reload"] += 1
        clock = self.page.locator("#clocks li").first
        ends = clock.get_attribute("data-ends")
        self.look_at(self.page.reload)
        clock.locator(".clock-left", has_text=":").wait_for()
        assert clock.get_attribute("data-ends") == ends, "a reload moved the end of a timer"
        assert ends is not None
        assert datetime.fromisoformat(ends).tzinfo is not None

    def values(self, code: str) -> str:
        """Of three steps with settings one is left to the finish, one has a value confirmed, one a value keyed in; which."""
        ways = self.page.locator(".knob:has(form[data-plan])")
        if not self.there(ways) or code == self.script.conflict:
            return "ordinary"
        knob = ways.first
        form = knob.locator("details form[data-plan]")
        planned, name = form.get_attribute("data-plan"), form.get_attribute("data-what")
        assert planned is not None
        if code == self.script.slip:
            self.tap(knob.locator("summary").first)
            self.slip(form, planned)
        else:
            self.seen["settings"] += 1
            turn = self.seen["settings"] % 3
            if turn == 0:
                return "ordinary"
            if turn == 2:
                self.tap(knob.locator("summary").first)
                self.keys(form, planned)
                self.picture("step-keypad")
                self.tap(form.locator("button[data-rest]"))
                self.page.locator('[data-for-stage="running"][hidden]').wait_for(state="attached")
                return "keyed"
            self.tap(knob.get_by_role("button", name=f"{name} as planned"))
        # What is dialled in may have another name by now, because it was worked out meanwhile; the entry is there all the same.
        shown = self.page.locator(f'[data-actual="{name}"]', has_text="entered")
        shown.or_(self.page.locator("#entries li", has_text=f"{name} ")).first.wait_for()
        return "confirmed"

    def slip(self, form: Locator, planned: str) -> None:
        """A wrong unit, a zero too few and a number out of its band are asked about; what was meant is one tap."""
        asked, keep = form.locator(".asked"), form.locator("button.keep").first
        others = form.locator("input[type=radio]")
        if self.there(others) > 1:
            self.keys(form, planned)
            self.tap(form.locator(".units label").nth(1))
            self.tap(keep)
            asked.filter(has_text="did you mean").wait_for()
            self.tap(form.locator(".units label").first)
            self.press_key(form, "Clear")
        self.keys(form, f"{2 * float(planned):g}")
        self.tap(keep)
        asked.filter(has_text="the limit of the band").wait_for()
        self.press_key(form, "Clear")
        self.keys(form, f"{float(planned) / 10:g}")
        self.tap(keep)
        asked.filter(has_text="did you mean").wait_for()
        self.picture("step-question")
        self.tap(asked.locator("button").first)

    def press_key(self, form: Locator, name: str) -> None:
        """One of the large keys."""
        self.tap(form.locator(".keys").get_by_role("button", name=name, exact=True))

    def keys(self, form: Locator, number: str) -> None:
        """A number by the large keys."""
        named = {".": "Point", "-": "Minus", "e": "Times ten to the power of"}
        for key in number.replace("+", ""):
            self.press_key(form, named.get(key, key))
            self.figures += 1

    def finish(self, code: str) -> None:
        """Finish as planned; at one step another tablet was faster."""
        self.picture("step-running")
        if code == self.script.conflict and code not in self.done:
            self.meet()
            return
        stage = self.page.locator('[data-for-stage="running"]')
        self.tap(stage.locator(".main-action"))
        self.page.locator('[data-for-stage="running"][hidden]').wait_for(state="attached")

    def meet(self) -> None:
        """Somebody else finishes the step while this tablet has no network; theirs hold."""
        self.kept()
        other = self.browser.new_context(base_url=self.address).new_page()
        other.set_default_timeout(PATIENCE)
        other.goto(self.page.url)
        self.page.wait_for_selector('html[data-offline="ready"]')
        self.page.context.set_offline(True)
        self.bar()
        self.page.locator("#kept", has_text="1 waiting").wait_for()
        done = other.locator(".main-action:visible")
        name = other.get_by_label("Your name or initials")
        other.wait_for_function(SETTLED)
        if name.count():
            name.fill("CD")
        done.click()
        other.locator("#state-word", has_text="Done").wait_for()
        other.context.close()
        self.page.context.set_offline(False)
        asked = self.page.locator(".decide")
        asked.wait_for()
        assert "finished this step at" in asked.inner_text()
        self.picture("conflict")
        self.tap(asked.get_by_role("button", name="Theirs hold"))
        self.kept()
        self.stage("done")

    def network(self, on: bool) -> None:
        """The network goes, or comes back and everything is sent."""
        if on:
            self.picture("offline")
            self.page.context.set_offline(False)
            self.kept()
            self.look_at(self.page.reload)
        else:
            self.seen["offline"] += 1
            self.page.wait_for_selector('html[data-offline="ready"]')
            self.page.context.set_offline(True)

    def photo(self) -> None:
        """A photo with a word."""
        from PIL import Image

        place = Path(tempfile.mkdtemp()) / "rim.png"
        photos = self.page.locator("#entries img.photo")
        before = self.there(photos)
        Image.linear_gradient("L").resize((1200, 900)).convert("RGB").save(place)
        self.open("Photo")
        self.page.get_by_label("Take or choose a photo").set_input_files(place)
        self.write("What it shows", "rim of the film")
        self.press("Keep the photo")
        # A step that is done again has the photo of the first time already.
        photos.nth(before).wait_for()
        self.look_at(self.page.locator("#entries").scroll_into_view_if_needed)
        self.picture("step-photo")
        shutil.rmtree(place.parent)

    def skip(self) -> None:
        """Left out, with the reason."""
        self.open("Skip this step")
        self.write("Why it is left out", "the instrument is away for repair")
        self.picture("step-skip")
        self.press("Skip it")

    def split(self) -> None:
        """The last wafer gets another value of the first setting that can be dialled in."""
        self.seen["split"] += 1
        names = self.look_at(self.page.locator("a.wafer strong").all_inner_texts)
        self.tap(self.page.locator("a.wafer").last)
        self.arrive('#card:not([data-wafer=""])')
        knob = self.page.locator(".knob:has(form[data-plan])").first
        planned = knob.locator("form[data-plan]").get_attribute("data-plan")
        assert planned is not None
        self.open("Plan otherwise for")
        form = knob.locator("form[data-split]")
        self.keys(form, f"{1.2 * float(planned):.3g}")
        self.picture("step-split")
        self.tap(form.locator("button.keep"))
        self.page.locator(".knob", has_text="split").first.wait_for()
        assert len(names) > 1, "a split needs two wafers"

    def decide(self, code: str) -> bool:
        """Go on at a hold point; one wafer is done again once. Whether the hand has to look at the lot then."""
        self.picture("step-held")
        if code == self.script.rework and not self.seen["rework"]:
            self.seen["rework"] += 1
            self.tap(self.page.locator("a.wafer").last)
            self.arrive('#card:not([data-wafer=""])')
            self.open("Rework from")
            self.write("What was seen", "a comet from a particle in the resist")
            self.picture("step-rework")
            self.tap(self.page.locator(".bar details[open] button.keep"))
            self.page.locator("#entries", has_text="comet").wait_for()
            return True
        self.bar()
        self.page.locator('[data-for-stage="held"][hidden]').wait_for(state="attached")
        return False


@contextmanager
def bench_served(folder: Path, example: str) -> Iterator[tuple[Bench, str]]:
    """An empty record with one example plan, and the address of a server before it."""
    new(folder / "plans" / example, example)
    with Bench.open(folder / "record.sqlite", create=True, plans=folder / "plans") as bench:
        running = server(bench, Settings(plans=bench.plans))
        running.config.port = 0
        thread = threading.Thread(target=running.run, daemon=True)
        thread.start()
        while not running.started and thread.is_alive():
            time.sleep(0.02)
        try:
            yield bench, f"http://127.0.0.1:{running.servers[0].sockets[0].getsockname()[1]}"
        finally:
            running.should_exit = True
            thread.join(10)


def gallery(hand: Hand) -> None:
    """Every kind of page as it looks at the end."""
    lot = hand.lot
    for name, path in {
        "today": "/", "where-was-i": f"/lot/{lot}/resume", "lot-open": f"/lot/{lot}?open=all",
        "wafer": f"/lot/{lot}/wafer/W1", "flow": f"/lot/{lot}/flow", "measurements": f"/lot/{lot}/measurements",
        "labels": f"/labels/{lot}", "tools": "/tools", "all-lots": "/lots", "parts": "/parts", "not-found": "/nowhere",
    }.items():  # fmt: skip
        hand.page.goto(path)
        hand.page.wait_for_load_state("load")
        if name == "wafer":
            hand.page.wait_for_selector('#wafer[data-working="no"]', state="attached")
        hand.picture(name)
    hand.page.goto("/tools")
    tool = hand.page.locator("main a[href^='/tool/']")
    if tool.count():
        tool.first.click()
        hand.page.wait_for_load_state("load")
        hand.picture("tool")


def run(
    bench: Bench, address: str, browser: Browser, look: str, *, pictures: Path | None = None, until: str = "",
    script: Script | None = None,
) -> Hand:  # fmt: skip
    """One whole run on one size of screen, in one theme."""
    width, height = LOOKS[look]
    context = browser.new_context(
        viewport={"width": width, "height": height}, base_url=address, has_touch=True, reduced_motion="reduce"
    )
    context.add_cookies([{"name": "theme", "value": look, "url": address}])
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    hand = Hand(page=page, browser=browser, address=address, script=Script(), pictures=pictures, look=look)
    assert bench.plans is not None
    lot = hand.start_lot(f"{min(bench.plans.iterdir()).name}/plan.yaml", 2)
    hand.script = script or script_of(bench, lot, until)
    hand.walk(until)
    if pictures is not None:
        gallery(hand)
    context.close()
    assert not faults, faults
    return hand


def counted(taps: Counter[int]) -> str:
    """How many taps a step cost, in words."""
    if not taps:
        return "none"
    every = sorted(taps.elements())
    return f"{every[len(every) // 2]} in the middle, {every[-1]} at most, {len(every)} steps"


def too_many(hand: Hand) -> list[str]:
    """Kinds of steps that cost more taps than they may."""
    kinds = (("ordinary", GOAL), ("confirmed", GOAL_OF_VALUES), ("keyed", GOAL_OF_VALUES))
    return [
        f"{kind} step: {max(getattr(hand, kind))} taps, at most {most}"
        for kind, most in kinds
        if max(getattr(hand, kind), default=0) > most
    ]


def main() -> int:
    """The words of the command line."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--example", default="humidity-switch")
    ask.add_argument("--until", default="", help="code of the step to stop after")
    ask.add_argument("--pictures", type=Path, default=Path("demo/bench"))
    ask.add_argument("--looks", default=",".join(LOOKS))
    asked = ask.parse_args()
    asked.pictures.mkdir(parents=True, exist_ok=True)
    wrong: list[str] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        bench_served(Path(folder), asked.example) as (bench, address),
        sync_playwright() as driver,
    ):
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for look in asked.looks.split(","):
            began = time.monotonic()
            hand = run(bench, address, browser, look, pictures=asked.pictures, until=asked.until)
            found = wrong_in(bench, hand.lot, hand.script, asked.until)
            print(
                f"{look} {'×'.join(map(str, LOOKS[look]))}: {len(hand.done)} steps, {hand.taps} taps,"
                f" {time.monotonic() - began:.0f} s; taps of an ordinary step: {counted(hand.ordinary)}"
                f" (goal {GOAL}); with a value confirmed: {counted(hand.confirmed)} (goal {GOAL_OF_VALUES});"
                f" with a number keyed in, but for its figures: {counted(hand.keyed)} (goal {GOAL_OF_VALUES});"
                f" {hand.script}"
            )
            found += too_many(hand)
            wrong += [f"{look}: {each}" for each in found]
        browser.close()
        program = [
            str(Path(sys.executable).with_name("filmwright")),
            "record",
            "verify",
            "--record",
            str(bench.place),
        ]
        proved = subprocess.run(program, capture_output=True, text=True, check=False, env=dict(os.environ))
        print(proved.stdout.strip())
        if proved.returncode:
            wrong.append("filmwright record verify: " + proved.stdout + proved.stderr)
    print("\n".join(wrong) or WELL)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
