"""A headless Chromium that tests drive through its own pipe: nothing to install beside it, no port, no network.

It speaks the browser's DevTools protocol: JSON messages, each ended by a zero byte, on file numbers 3 and 4."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from select import select
from types import TracebackType
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)
SECONDS = 60.0


def installed() -> str | None:
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """told: what pages wrote to the console as warnings and errors, and what they left uncaught."""

    def __init__(self, program: str) -> None:
        self._home = tempfile.TemporaryDirectory(prefix="jackstay-browser-", ignore_cleanup_errors=True)
        out_of, into = os.pipe()
        answers, said = os.pipe()

        def arrange() -> None:  # in the copy, before it becomes the browser
            first, second = os.dup(out_of), os.dup(said)
            while first in (3, 4):
                first = os.dup(first)
            while second in (3, 4):
                second = os.dup(second)
            os.dup2(first, 3)
            os.dup2(second, 4)

        command = [program, *FLAGS, f"--user-data-dir={self._home.name}", "about:blank"]
        self._process = subprocess.Popen(
            command, pass_fds=(3, 4), preexec_fn=arrange, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(out_of)
        os.close(said)
        self._into, self._answers = into, answers
        self._left = b""
        self._number = 0
        self.told: list[str] = []
        target = self._call("Target.createTarget", {"url": "about:blank"})["targetId"]
        self._session = self._call("Target.attachToTarget", {"targetId": target, "flatten": True})["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable")

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, kind: type | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._process.terminate()
        self._process.wait(20)
        os.close(self._into)
        os.close(self._answers)
        self._home.cleanup()

    # --- messages ----------------------------------------------------------------------------------------------------

    def send(self, method: str, **given: Any) -> dict[str, Any]:
        return self._call(method, given, self._session)

    def _call(self, method: str, given: dict[str, Any], session: str | None = None) -> dict[str, Any]:
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": given}
        if session is not None:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._into, data) :]
        while True:
            answer = self._next()
            if answer.get("id") == message["id"]:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                found: dict[str, Any] = answer["result"]
                return found

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._left:
            if not select([self._answers], [], [], SECONDS)[0]:
                raise TimeoutError("the browser does not answer")
            more = os.read(self._answers, 1 << 16)
            if not more:
                raise RuntimeError("the browser has ended")
            self._left += more
        line, self._left = self._left.split(b"\0", 1)
        told: dict[str, Any] = json.loads(line)
        self._note(told.get("method", ""), told.get("params", {}))
        return told

    def _note(self, method: str, given: dict[str, Any]) -> None:
        if method == "Runtime.exceptionThrown":
            self.told.append(str(given["exceptionDetails"].get("exception", {}).get("description", "exception")))
        if method == "Runtime.consoleAPICalled" and given["type"] in ("error", "warning", "assert"):
            self.told.append(" ".join(str(one.get("value", "")) for one in given["args"]))
        if method == "Log.entryAdded" and given["entry"]["level"] in ("error", "warning"):
            self.told.append(given["entry"]["text"])
        if method == "Network.requestWillBeSent" and not given["request"]["url"].startswith(("file:", "about:")):
            self.told.append(f"asks the network for {given['request']['url']}")

    # --- what a reader does ------------------------------------------------------------------------------------------

    def open(self, page: Path, address: str = "", width: int = 1400, height: int = 900, dark: bool = False) -> None:
        self.send("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        still = {"name": "prefers-reduced-motion", "value": "reduce"}
        self.send("Emulation.setEmulatedMedia", features=[scheme, still])
        self.send("Page.navigate", url="about:blank")
        self.send("Page.navigate", url=f"{page.as_uri()}#{address}")
        self.run("new Promise(done => document.readyState === 'complete' ? done() : addEventListener('load', done))")
        self.settle()

    def run(self, code: str) -> Any:
        """The value of an expression in the page; a promise is waited for."""
        told = self.send("Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in told:
            raise RuntimeError(told["exceptionDetails"].get("exception", {}).get("description", "exception"))
        return told["result"].get("value")

    def settle(self) -> None:
        """Until two frames have been drawn."""
        self.run("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done())))")

    def key(self, name: str) -> None:
        text = {"text": name} if len(name) == 1 else {}
        codes = {"Enter": 13, "Escape": 27, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40}
        code = codes.get(name, ord(name[0].upper()))
        for sort in ("keyDown", "keyUp"):
            more = text if sort == "keyDown" else {}
            self.send("Input.dispatchKeyEvent", type=sort, key=name, windowsVirtualKeyCode=code, **more)
        self.settle()

    def write(self, text: str) -> None:
        self.send("Input.insertText", text=text)
        self.settle()

    def click(self, where: str) -> None:
        """With the mouse, in the middle of what the selector finds first."""
        spot = self.run(
            f"(() => {{ const one = document.querySelector({json.dumps(where)}); one.scrollIntoView({{block: 'center', "
            "inline: 'center'}); const box = one.getBoundingClientRect(); "
            "return [box.x + box.width / 2, box.y + box.height / 2]; })()"
        )
        for sort in ("mousePressed", "mouseReleased"):
            self.send("Input.dispatchMouseEvent", type=sort, x=spot[0], y=spot[1], button="left", clickCount=1)
        self.settle()

    def pdf(self) -> bytes:
        return base64.b64decode(self.send("Page.printToPDF", preferCSSPageSize=True)["data"])

    def picture(self) -> bytes:
        return base64.b64decode(self.send("Page.captureScreenshot")["data"])
