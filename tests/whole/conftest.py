"""A person's folder, made by the verb that people start with; and a real browser.

The browser is driven through its debugging pipe, with nothing but the standard library.
"""

import json
import os
import shutil
import subprocess
import time
from pathlib import Path

import pytest

from filmwright import desk

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture(scope="session")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The three examples as ``new`` writes them; copied by those who change them."""
    root = tmp_path_factory.mktemp("examples")
    for name in ("humidity-switch", "delay-line", "platinum-thermometer"):
        desk.new(root / name, name)
    return root


@pytest.fixture
def thermometer(shipped: Path, tmp_path: Path) -> Path:
    """A copy of the smallest example."""
    return Path(shutil.copytree(shipped / "platinum-thermometer", tmp_path / "run"))


class Browser:
    """A headless browser with one page."""

    def __init__(self, home):
        self.read_end, theirs_out = os.pipe()
        theirs_in, self.write_end = os.pipe()

        def pipes():
            one, other = os.dup(theirs_in), os.dup(theirs_out)
            os.dup2(one, 3)
            os.dup2(other, 4)

        self.process = subprocess.Popen(
            [
                CHROMIUM,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--hide-scrollbars",
                f"--user-data-dir={home}",
                "--remote-debugging-pipe",
                "about:blank",
            ],
            preexec_fn=pipes,
            pass_fds=(3, 4),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_out)
        os.close(theirs_in)
        self.number, self.session, self.rest, self.problems = 0, None, b"", []
        target = next(t for t in self.ask("Target.getTargets")["targetInfos"] if t["type"] == "page")
        self.session = self.ask("Target.attachToTarget", targetId=target["targetId"], flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Runtime", "Network"):
            self.ask(f"{domain}.enable")
        self.requests = []

    def ask(self, method, **params):
        """Call the browser and wait for its answer."""
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write_end, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self.number:
                assert "error" not in answer, answer
                return answer["result"]
            if answer.get("method") == "Runtime.exceptionThrown":
                self.problems.append(answer["params"]["exceptionDetails"])
            if answer.get("method") == "Network.requestWillBeSent":
                self.requests.append(answer["params"]["request"]["url"])

    def _next(self):
        while b"\0" not in self.rest:
            self.rest += os.read(self.read_end, 1 << 20)
        one, self.rest = self.rest.split(b"\0", 1)
        return json.loads(one)

    def run(self, script):
        """The value of an expression in the page."""
        found = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def open(self, path, fragment="", size=(1280, 900)):
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=size[0],
            height=size[1],
            deviceScaleFactor=1,
            mobile=False,
        )
        self.requests.clear()
        self.ask("Page.navigate", url="about:blank")
        self.ask("Page.navigate", url=path.as_uri() + fragment)
        until = time.monotonic() + 30
        while self.run("document.readyState") != "complete" or self.run("location.protocol") != "file:":
            assert time.monotonic() < until, "the page does not load"

    def key(self, name):
        for kind in ("keyDown", "keyUp"):
            self.ask(
                "Input.dispatchKeyEvent",
                type=kind,
                key=name,
                text="\r" if name == "Enter" and kind == "keyDown" else "",
            )

    def click(self, x, y):
        for kind in ("mousePressed", "mouseReleased"):
            self.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def close(self):
        self.session = None
        self.ask("Browser.close")
        self.process.wait(20)
        os.close(self.read_end)
        os.close(self.write_end)


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """A headless browser; without one the tests that need it are left out."""
    if CHROMIUM is None:
        pytest.skip("no Chromium here")
    made = Browser(tmp_path_factory.mktemp("browser"))
    yield made
    made.close()
    assert not made.problems
