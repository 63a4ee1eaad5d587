"""A real browser for the tests, with axe-core."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest

PHONE, SCREEN = 320, 1280
"""320 px is WCAG 1.4.10's width: a screen of 1280 px at 400%."""
_OVER = {"elmPartiallyObscuring", "elmPartiallyObscured"}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

_FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip


class Browser:
    """Chromium with one page open."""

    def __init__(self, driver, axe: str):
        self.driver, self.axe = driver, axe

    def show(self, path: Path, *, width: int, scheme: str = "light") -> None:
        size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width == PHONE}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})
        self.driver.get(path.as_uri())

    def ask(self, script: str):
        return self.driver.execute_script(f"return {script}")

    def run(self, script: str) -> None:
        self.driver.execute_script(script)

    def faults(self) -> list[str]:
        """What axe-core finds wrong, and where it could not tell contrast."""
        self.driver.execute_script(self.axe)
        run = f"axe.run(document, {{runOnly: {json.dumps(RULES)}}}).then(arguments[0])"
        found = self.driver.execute_async_script(run)
        assert len(found["passes"]) > 20
        wrong = found["violations"]
        if any(each["id"] == "target-size" for each in wrong):  # a target below the bar: a page scrolls
            self.run("document.querySelector('.ring')?.style.setProperty('display', 'none')")
            again = self.driver.execute_async_script(run)["violations"]
            self.run("document.querySelector('.ring')?.style.removeProperty('display')")
            small = [each for each in again if each["id"] == "target-size"]
            wrong = [*(each for each in wrong if each["id"] != "target-size"), *small]
        contrast = (each for each in found["incomplete"] if each["id"] == "color-contrast")
        unsure = [node for each in contrast for node in each["nodes"] if _of_words(node)]
        return [
            *(f"{each['id']}: {each['nodes'][0]['html']}" for each in wrong),
            *(f"color-contrast: {node['html']}" for node in unsure if not self._of_the_bar(node)),
        ]

    def _of_the_bar(self, node: dict) -> bool:
        """Whether words are those of the bar at the foot of the screen. axe cannot tell their contrast where
        one line of them lies over another element than the next; the bar is opaque, and its colours are
        those of test_html_style."""
        over = {check["data"]["messageKey"] for check in node["any"]} <= _OVER
        return over and self.ask(
            f"!!document.querySelector({json.dumps(node['target'][0])}).closest('.ring')"
        )

    def pages(self, folder: Path) -> list[str]:
        """The text of each page as printed."""
        printed = self.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        (folder / "page.pdf").write_bytes(base64.b64decode(printed["data"]))
        command = ["pdftotext", "-layout", str(folder / "page.pdf"), "-"]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        return done.stdout.rstrip("\f").split("\f")


def _of_words(node: dict) -> bool:
    """Whether axe could not tell contrast of words. Of a sign alone, as a tick or an empty box, it never can;
    those have the colour of the words beside them."""
    reasons = [check.get("data") or {} for check in node["any"]]
    return any(reason.get("messageKey") != "nonBmp" for reason in reasons)


def started() -> Iterator[Browser]:
    """Where there is no browser the test is skipped, but never in CI."""
    programs = [shutil.which(name) for name in ("chromium", "chromedriver", "pdftotext")]
    spec = find_spec("selenium_axe_python")
    if not (all(programs) and spec and spec.origin):
        message = "needs chromium, chromium-driver, poppler and selenium-axe-python"
        pytest.fail(f"CI {message}; see .ci/run") if os.environ.get("CI") else pytest.skip(message)
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = programs[0]
    for flag in _FLAGS:
        options.add_argument(flag)
    driver = webdriver.Chrome(options, webdriver.ChromeService(programs[1]))
    driver.set_script_timeout(300)  # a busy machine is slow, and no test is of speed
    axe = Path(spec.origin).parent / "axe-core" / "axe.min.js"
    yield Browser(driver, axe.read_text(encoding="utf-8"))
    driver.quit()
