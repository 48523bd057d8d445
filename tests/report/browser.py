"""A headless Chromium, driven through its DevTools pipe: nothing to install but the browser."""

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

FLAGS = [
    "--headless", "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run",
    "--no-default-browser-check", "--remote-debugging-pipe",
]


def find():
    """The browser's path; None where there is none."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Page:
    """One tab. `problems` holds what the console was told as errors or warnings, and what was thrown."""

    def __init__(self, width=1280, height=900, scale=1, webgl=True, dark=False, touch=False):
        self.folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        to_read, self.to_write = os.pipe()
        self.to_hear, from_write = os.pipe()
        command = [find(), *FLAGS, f"--user-data-dir={self.folder.name}"]
        if not webgl:
            command += ["--disable-gpu", "--disable-3d-apis"]
        self.process = subprocess.Popen(
            ["sh", "-c", 'exec "$@" 3<&%d 4>&%d' % (to_read, from_write), "sh", *command],
            pass_fds=(to_read, from_write), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_read)
        os.close(from_write)
        self.count, self.heard, self.problems, self.session, self.loads = 0, b"", [], None, 0
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for part in ("Page", "Runtime", "Log"):
            self.call(part + ".enable")
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=scale, mobile=touch)
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}])

    def close(self):
        self.process.terminate()
        self.process.wait(20)
        os.close(self.to_write)
        os.close(self.to_hear)
        self.folder.cleanup()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def call(self, method, **params):
        self.count += 1
        message = {"id": self.count, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.to_write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.hear()
            if answer.get("id") == self.count:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]

    def hear(self, patience_s=60):
        end = time.monotonic() + patience_s
        while b"\0" not in self.heard:
            ready, _, _ = select.select([self.to_hear], [], [], max(0, end - time.monotonic()))
            more = os.read(self.to_hear, 1 << 20) if ready else b""
            if not more:
                raise RuntimeError("the browser does not answer")
            self.heard += more
        text, self.heard = self.heard.split(b"\0", 1)
        message = json.loads(text)
        method, params = message.get("method"), message.get("params", {})
        if method == "Runtime.exceptionThrown":
            details = params["exceptionDetails"]
            self.problems.append(details.get("exception", {}).get("description", details["text"]))
        elif method == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning", "assert"):
            self.problems.append(" ".join(str(a.get("value", a.get("description"))) for a in params["args"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            self.problems.append(params["entry"]["text"])
        elif method == "Page.loadEventFired":
            self.loads += 1
        return message

    def open(self, path):
        before = self.loads
        self.call("Page.navigate", url="file://" + os.path.abspath(path))
        while self.loads == before:
            self.hear()
        self.settle()

    def ask(self, expression):
        """What a JavaScript expression gives."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"]["exception"]["description"])
        return answer["result"].get("value")

    def settle(self):
        """Until what was asked to be drawn is drawn."""
        self.ask("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50))))")

    def click(self, selector):
        """A real click in the middle of an element."""
        x, y = self.ask(f"(() => {{ const e = document.querySelector({json.dumps(selector)}); e.scrollIntoView({{block: 'center'}});"
                        " const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()")
        self.settle()
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)
        self.settle()

    def key(self, key, code=None):
        text = {"text": key} if len(key) == 1 else {}
        if key == "Enter":
            text = {"text": "\r"}
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key, code=code or key, **text,
                      windowsVirtualKeyCode={"Tab": 9, "Enter": 13, "ArrowLeft": 37, "ArrowRight": 39}.get(key, 0))
        self.settle()

    def picture(self, selector=None, scale=1):
        """PNG of an element, or of the whole page."""
        if selector:
            box = self.ask(f"(() => {{ const r = document.querySelector({json.dumps(selector)}).getBoundingClientRect();"
                           " return [r.x + scrollX, r.y + scrollY, r.width, r.height]; })()")
        else:
            box = [0, 0, *self.ask("[document.documentElement.clientWidth, document.documentElement.scrollHeight]")]
        clip = dict(zip(("x", "y", "width", "height"), box), scale=scale)
        data = self.call("Page.captureScreenshot", format="png", clip=clip, captureBeyondViewport=True)["data"]
        return base64.b64decode(data)
