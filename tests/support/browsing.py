"""The page as a person meets it: the real command, a real browser, no network but loopback."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from conftest import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

CHROMIUM = shutil.which("chromium")
WHY_NOT = "THE PAGE IS NOT TESTED IN A BROWSER: there is no chromium (apt-get install chromium)"
SHOTS = ROOT / "outputs" / "page"
"""Where pictures of the screens are left, to be looked at."""
SIZES = {"desktop": (1280, 800), "phone": (360, 740)}
_FLAGS = (
    "--no-sandbox",  # which root cannot have
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)


@dataclass(frozen=True)
class RunningPage:
    """A page that is being served: its address, and what the teacher opens."""

    address: str
    teacher_link: str
    pid: int

    def workers(self) -> list[int]:
        """Return the processes that compute."""
        threads = Path(f"/proc/{self.pid}/task").iterdir()
        named = [one.joinpath("children").read_text() for one in threads]
        return sorted(int(pid) for text in named for pid in text.split())


@contextmanager
def served_page(folder: Path, *options: str) -> Iterator[RunningPage]:
    """Start ``moldgen page`` as a person does, and end it with Ctrl-C."""
    port = free_port()
    words = ["page", "--no-browser", "--port", str(port), *options]
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "moldgen", *words],
        stdout=subprocess.PIPE,
        env={**os.environ, "MOLDGEN_HOME": str(folder)},
        text=True,
        encoding="utf-8",
    )
    try:
        yield RunningPage(f"http://127.0.0.1:{port}", _link(process), process.pid)
    finally:
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=30)
        assert process.returncode == 0, said
        assert "Everything is kept." in said


def free_port() -> int:
    """Return a port of loopback that nobody listens at."""
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return int(tried.getsockname()[1])


def _link(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    for line in process.stdout:
        if line.startswith("For you:"):
            return line.split()[-1]
    raise AssertionError("the page did not start")


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser of the system."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tools:
        browser = tools.chromium.launch(executable_path=CHROMIUM, args=_FLAGS)
        yield browser
        browser.close()


class Visit:
    """What one person does in a browser of one size, and what is true of every screen.

    Parameters
    ----------
    browser : Browser
        Where.
    served : RunningPage
        What is visited.
    who, size : str
        For the names of the pictures; one of `SIZES`.
    """

    def __init__(self, browser: Browser, served: RunningPage, who: str, size: str) -> None:
        wide, high = SIZES[size]
        self._name = f"{size}-{who}"
        self._served = served
        self._context = browser.new_context(
            viewport={"width": wide, "height": high},
            has_touch=size == "phone",
            is_mobile=size == "phone",
            reduced_motion="reduce",
            service_workers="block",
        )
        self.page: Page = self._context.new_page()
        self.page.set_default_timeout(90_000)
        self.wrong: list[str] = []
        self.page.on("request", lambda asked: self._hear_address(asked.url))
        self.page.on("pageerror", lambda error: self.wrong.append(f"script: {error}"))
        self.page.on(
            "console", lambda said: self._hear_said(said.text) if said.type == "error" else None
        )

    def go(self, path: str) -> None:
        """Open a page."""
        self.page.goto(path if path.startswith("http") else self._served.address + path)

    def look(self, screen: str) -> None:
        """Leave a picture of the screen, and check what holds for every one of them."""
        SHOTS.mkdir(parents=True, exist_ok=True)
        for picture in self.page.locator("img").all():
            picture.scroll_into_view_if_needed()
            picture.evaluate("one => one.decode()")
        self.page.evaluate("scrollTo(0, 0)")
        self.page.screenshot(path=SHOTS / f"{self._name}-{screen}.png", full_page=True)
        assert self.page.evaluate(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
        ), f"{screen}: wider than the screen"
        assert self._broken_rules() == [], screen
        assert self.wrong == [], screen

    def close(self) -> None:
        """Leave."""
        self._context.close()

    def _broken_rules(self) -> list[str]:
        from axe_playwright_python.sync_playwright import Axe

        found = Axe().run(self.page).response["violations"]
        return [
            f"{rule['id']}: {node['target']} {node['failureSummary']}"
            for rule in found
            for node in rule["nodes"]
        ]

    def _hear_address(self, url: str) -> None:
        if not url.startswith((self._served.address, "data:", "blob:")):
            self.wrong.append(f"an address elsewhere: {url}")

    def _hear_said(self, text: str) -> None:
        if "422" not in text:  # a wrong value is answered so, and told at its field
            self.wrong.append(f"console: {text}")
