"""The desk in a real browser: a server of its own, and Chromium that has opened its link."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

from browsers import PHONE, SCREEN, Browser

from consentpack.desk.serving import open_desk


@dataclass
class Browsing:
    """A browser at the desk. It reads pages as somebody does who sees labels and buttons."""

    browser: Browser
    address: str

    @property
    def driver(self) -> Any:
        return self.browser.driver

    def open(self, path: str, *, width: int = SCREEN, scheme: str = "light") -> None:
        size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width == PHONE}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})
        self.driver.get(self.address + path)

    @property
    def words(self) -> str:
        return self.driver.find_element("tag name", "main").text

    @property
    def path(self) -> str:
        return self.driver.current_url.removeprefix(self.address)

    def field(self, label: str) -> Any:
        """What a label is of."""
        found = self.driver.find_element("xpath", f"//label[starts-with(normalize-space(), '{label}')]")
        return self.driver.find_element("id", found.get_attribute("for"))

    def type(self, label: str, words: str) -> None:
        field = self.field(label)
        field.clear()
        field.send_keys(words)

    def set(self, label: str, words: str) -> None:
        """Put a long text in as if it had been pasted."""
        self.driver.execute_script("arguments[0].value = arguments[1]", self.field(label), words)

    def choose(self, label: str, words: str) -> None:
        from selenium.webdriver.support.ui import Select

        Select(self.field(label)).select_by_visible_text(words)

    def press(self, words: str) -> None:
        self._leave(self.driver.find_element("xpath", f"//button[starts-with(normalize-space(), '{words}')]"))

    def follow(self, words: str) -> None:
        self._leave(self.driver.find_element("partial link text", words))

    def _leave(self, by: Any) -> None:
        """Press what leads to another page, and wait until that is there."""
        from selenium.webdriver.support.expected_conditions import staleness_of
        from selenium.webdriver.support.ui import WebDriverWait

        by.click()
        waiting = WebDriverWait(self.driver, 120)  # a busy machine is slow, and no test is of speed
        waiting.until(staleness_of(by))
        waiting.until(lambda driver: driver.execute_script("return document.readyState") == "complete")

    def faults(self, path: str) -> list[str]:
        """What axe finds, what is too wide, and what the console says: both widths, light and dark."""
        found = []
        for width in (PHONE, SCREEN):
            for scheme in ("light", "dark"):
                self.open(path, width=width, scheme=scheme)
                found += [f"{path} {width} {scheme}: {each}" for each in self._faults()]
                if self.browser.ask("document.documentElement.scrollWidth") > width:
                    found.append(f"{path} {width}: it is wider than the screen")
        return [*found, *self.console()]

    def _faults(self) -> list[str]:
        """axe cannot tell the contrast in a field of several lines: its colours are those of the page."""
        found = self.browser.faults()
        of_fields = [each for each in found if each.startswith("color-contrast: <textarea")]
        look = "getComputedStyle(document.querySelector('{}')).{}"
        for name in ("color", "backgroundColor") if of_fields else ():
            field, page = (self.browser.ask(look.format(each, name)) for each in ("textarea", "body"))
            assert field == page, f"{name} of a field: {field}"
        return [each for each in found if each not in of_fields]

    def console(self) -> list[str]:
        """Errors that the browser told since it was last asked."""
        return [each["message"] for each in self.driver.get_log("browser")]


@contextmanager
def at_desk(browser: Browser, folder: Path) -> Iterator[Browsing]:
    """A desk on a clinic folder, and a browser that has opened its link."""
    desk = open_desk(folder, say=lambda _: None)
    Thread(target=desk.run, daemon=True).start()
    address = desk.link.partition("/enter/")[0]
    browser.driver.get(desk.link)
    browser.driver.get_log("browser")  # of the desk before it
    try:
        yield Browsing(browser, address)
    finally:
        browser.driver.delete_all_cookies()
        desk.close()
