"""A real browser, driven over its debugging pipe with nothing but the standard library."""

import base64
import contextlib
import itertools
import json
import os
import selectors
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

WAIT = 60.0  # seconds for an answer of the browser or a state of the page


LAUNCH = """
import os, sys
ends = [os.dup(int(end)) for end in sys.argv[1:3]]
ends = [end if end > 4 else os.dup(end) for end in ends]
for end, wanted in zip(ends, (3, 4)):
    os.dup2(end, wanted, inheritable=True)
os.execv(sys.argv[3], sys.argv[3:])
"""


class Browser:
    """One page of a browser, with every address that it asks for."""

    def __init__(self, process: subprocess.Popen[bytes], write: int, read: int) -> None:
        self.process, self.write, self.read = process, write, read
        self.numbers, self.buffer, self.session = itertools.count(1), b"", ""
        self.asked: list[str] = []
        self.faults: list[str] = []
        self.selector = selectors.DefaultSelector()
        self.selector.register(read, selectors.EVENT_READ)
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """Send a command and return its result; events on the way are kept."""
        number = next(self.numbers)
        message: dict[str, Any] = {"id": number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write, json.dumps(message).encode() + b"\0")
        end = time.monotonic() + WAIT
        while time.monotonic() < end:
            answer = self._next(end)
            if answer.get("id") == number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                found: dict[str, Any] = answer["result"]
                return found
            self._note(answer)
        raise TimeoutError(method)

    def _next(self, end: float) -> dict[str, Any]:
        while b"\0" not in self.buffer:
            if not self.selector.select(max(0.0, end - time.monotonic())):
                return {}
            came = os.read(self.read, 1 << 20)
            assert came, "the browser has ended"
            self.buffer += came
        first, _, self.buffer = self.buffer.partition(b"\0")
        message: dict[str, Any] = json.loads(first)
        return message

    def _note(self, event: dict[str, Any]) -> None:
        params = event.get("params", {})
        if event.get("method") == "Network.requestWillBeSent":
            self.asked.append(params["request"]["url"])
        elif event.get("method") == "Runtime.exceptionThrown":
            self.faults.append(params["exceptionDetails"]["text"])
        elif event.get("method") == "Log.entryAdded" and params["entry"]["level"] == "error":
            self.faults.append(params["entry"]["text"])

    def open(self, url: str) -> None:
        """Go to a page, in a wide window and in light colours."""
        self.show(width=1000, scheme="light")
        self.call("Page.navigate", url=url)
        self.until("document.readyState === 'complete'")

    def show(self, *, width: int, scheme: str) -> None:
        """Set the width of the window, and whether light or dark is wanted."""
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
        self.call("Emulation.setDeviceMetricsOverride", **size)
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])

    def run(self, script: str) -> Any:
        """Return what an expression of the page comes to."""
        done = self.call("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in done, done
        return done["result"].get("value")

    def until(self, condition: str) -> None:
        """Wait until a condition of the page holds."""
        end = time.monotonic() + WAIT
        while time.monotonic() < end:
            if self.run(condition):
                return
            time.sleep(0.05)
        raise TimeoutError(condition)

    def until_title(self, title: str) -> None:
        """Wait until some page of the browser has a title, as a link in a new window brings it."""
        end = time.monotonic() + WAIT
        while time.monotonic() < end:
            if title in [one["title"] for one in self.call("Target.getTargets")["targetInfos"]]:
                return
            time.sleep(0.05)
        raise TimeoutError(title)

    def press(self, key: str, *, code: int, modifiers: int = 0) -> None:
        """Press and release a key; modifiers: 2 is Ctrl, 8 is Shift."""
        keys = {"key": key, "code": key, "windowsVirtualKeyCode": code, "modifiers": modifiers}
        text = {"text": "\r"} if key == "Enter" and not modifiers else {}
        self.call("Input.dispatchKeyEvent", type="keyDown" if text else "rawKeyDown", **keys, **text)
        self.call("Input.dispatchKeyEvent", type="keyUp", **keys)

    def type(self, text: str) -> None:
        """Put text where the focus is, as an input method does."""
        self.call("Input.insertText", text=text)

    def picture(self, path: Path) -> None:
        """Write what the whole page looks like as PNG."""
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(shot["data"]))


@contextlib.contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """Give a browser for which no other host than the loopback exists; skip where there is none."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("chromium is not installed here")
    (their_in, our_out), (our_in, their_out) = os.pipe(), os.pipe()
    command = [
        *(found, "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run"),
        *("--disable-background-networking", "--disable-component-update", "--remote-debugging-pipe"),
        *(f"--user-data-dir={folder / 'profile'}", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
    ]
    environ = {**os.environ, "HOME": str(folder), "XDG_RUNTIME_DIR": str(folder)}
    # The browser reads commands from descriptor 3 and writes answers to 4.
    launch = [sys.executable, "-c", LAUNCH, str(their_in), str(their_out), *command]
    process = subprocess.Popen(launch, pass_fds=(their_in, their_out), env=environ, stderr=subprocess.DEVNULL)
    os.close(their_in)
    os.close(their_out)
    try:
        yield Browser(process, our_out, our_in)
    finally:
        process.terminate()
        process.wait(timeout=20)
        os.close(our_out)
        os.close(our_in)
