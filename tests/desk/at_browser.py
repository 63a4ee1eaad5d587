"""What every test of the desk in a real browser does: go somewhere, press something, look at what comes.

A press sends its page away, and a busy machine takes its time: what is done next is always done on the page
that comes, never on the one that is going.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

from browsers import PHONE, SCREEN, Browser
from selenium.common.exceptions import WebDriverException
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.support.expected_conditions import staleness_of
from selenium.webdriver.support.ui import Select, WebDriverWait

from consentpack.desk.serving import open_desk

PATIENCE = 120  # seconds: a busy machine is slow, and no test is of speed


@dataclass
class AtBrowser:
    """A browser at the desk. It reads pages as somebody does who sees labels and buttons."""

    browser: Browser
    link: str

    def __post_init__(self) -> None:
        self.console()  # what another desk's pages said
        self.size(SCREEN)
        self.driver.get(self.link)

    @property
    def driver(self) -> Any:
        return self.browser.driver

    @property
    def base(self) -> str:
        return self.link.partition("/enter/")[0]

    @property
    def path(self) -> str:
        return self.driver.current_url.removeprefix(self.base)

    @property
    def words(self) -> str:
        return self.find("main").text

    def size(self, width: int, scheme: str = "light") -> None:
        """A window of a width in a colour scheme; 320 px is 1280 at 400% (WCAG 1.4.10)."""
        size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width == PHONE}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})

    def go(self, path: str) -> None:
        self.driver.get(self.base + path)

    def find(self, css: str) -> Any:
        return self.driver.find_element("css selector", css)

    def field(self, label: str) -> Any:
        """What a label, or a name for those who hear the page, is of."""
        labels = self.driver.find_elements("xpath", f"//label[starts-with(normalize-space(), '{label}')]")
        if labels:
            return self.driver.find_element("id", labels[0].get_attribute("for"))
        return self.driver.find_element("xpath", f"//*[@aria-label='{label}']")

    def choose(self, label: str, wanted: str) -> None:
        """One of a list, by its words or by what the page sends for it."""
        for option in Select(self.field(label)).options:
            if wanted in (option.text.strip(), option.get_attribute("value")):
                option.click()
                return
        raise AssertionError(f"{label} does not offer {wanted}")

    def write(self, label: str, words: str) -> None:
        field = self.field(label)
        field.clear()
        field.send_keys(words)

    def paste(self, label: str, words: str) -> None:
        """A long text at once."""
        self.driver.execute_script("arguments[0].value = arguments[1]", self.field(label), words)

    def press(self, words: str) -> None:
        """A button by the words on it."""
        found = self.driver.find_element("xpath", f"//button[starts-with(normalize-space(), '{words}')]")
        with self.leaving():
            found.click()

    def follow(self, words: str) -> None:
        """A link by some of its words."""
        found = self.driver.find_element("partial link text", words)
        with self.leaving():
            found.click()

    def click(self, css: str) -> None:
        self._do(self.find(css), lambda element: element.click())

    def enter(self, css: str) -> None:
        """Reach something with the Tab key, and press Enter."""
        self._do(self.tab_to(css), lambda element: element.send_keys(Keys.ENTER))

    def _do(self, element: Any, press: Callable[[Any], None]) -> None:
        new_window = element.get_attribute("target") == "_blank"
        if element.tag_name in ("button", "a") and not new_window:
            with self.leaving():
                press(element)
        else:
            press(element)

    @contextmanager
    def leaving(self) -> Iterator[None]:
        """Do what leads to another page, and wait until that is there."""
        old = self.find("html")
        yield
        self._wait(staleness_of(old))
        self._wait(_is_there)

    def _wait(self, until: Callable[[Any], Any]) -> None:
        """Between two pages there is for a moment nothing to ask."""
        WebDriverWait(self.driver, PATIENCE, ignored_exceptions=[WebDriverException]).until(until)

    def newest_window(self) -> None:
        """The one that a link has just opened."""
        self._wait(lambda driver: len(driver.window_handles) > 1)
        self.driver.switch_to.window(self.driver.window_handles[-1])
        self._wait(lambda driver: driver.current_url.startswith(self.base) and _is_there(driver))

    def first_window(self) -> None:
        """Close all others."""
        for handle in self.driver.window_handles[1:]:
            self.driver.switch_to.window(handle)
            self.driver.close()
        self.driver.switch_to.window(self.driver.window_handles[0])

    def tab_to(self, css: str, *, most: int = 250) -> Any:
        """With the Tab key alone. Fails where it is out of reach."""
        wanted = self.find(css)
        for _ in range(most):
            now = self.driver.switch_to.active_element
            if now == wanted:
                return now
            ActionChains(self.driver).send_keys(Keys.TAB).perform()
        raise AssertionError(f"{css} cannot be reached with the Tab key")

    def faults_on(self, path: str) -> list[str]:
        """What is wrong with a page, narrow and wide, light and dark: by axe, and what runs over its side."""
        found = []
        for width in (PHONE, SCREEN):
            for scheme in ("light", "dark"):
                self.size(width, scheme)
                self.go(path)
                if self.browser.ask("document.documentElement.scrollWidth > innerWidth"):
                    found.append(f"{path}, {width} px: it is wider than the window")
                found += [f"{path}, {width} px, {scheme}: {fault}" for fault in self._faults(scheme)]
        self.size(SCREEN)
        return found

    def _faults(self, scheme: str) -> list[str]:
        """axe cannot tell the contrast of what a table's own scrolling hides: the same words are looked at in
        a window that has room for them. Nor of a field of several lines: it has the colours of the page."""
        found = self.browser.faults()
        if any(fault.startswith("color-contrast") for fault in found):
            self.size(SCREEN, scheme)
            again = [fault for fault in self.browser.faults() if fault.startswith("color-contrast")]
            found = [fault for fault in found if not fault.startswith("color-contrast")] + again
        of_fields = [fault for fault in found if fault.startswith("color-contrast: <textarea")]
        look = "getComputedStyle(document.querySelector('{}')).{}"
        for name in ("color", "backgroundColor") if of_fields else ():
            field, page = (self.browser.ask(look.format(each, name)) for each in ("textarea", "body"))
            assert field == page, f"{name} of a field: {field}"
        return [fault for fault in found if fault not in of_fields]

    def console(self) -> list[str]:
        """Errors that the browser told since it was last asked."""
        return [each["message"] for each in self.driver.get_log("browser")]


@contextmanager
def at_desk(browser: Browser, folder: Path) -> Iterator[AtBrowser]:
    """A desk on a clinic folder, on a port of this computer, and a browser that has opened its link."""
    desk = open_desk(folder, say=lambda _: None)
    thread = Thread(target=desk.run, daemon=True)
    thread.start()
    try:
        yield AtBrowser(browser, desk.link)
    finally:
        browser.driver.delete_all_cookies()
        desk.close()
        thread.join(timeout=10)


def _is_there(driver: Any) -> bool:
    return bool(driver.execute_script("return document.readyState") == "complete")
