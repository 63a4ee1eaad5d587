"""A person at the desk: clicks, types and presses keys in a real browser, and counts what that takes.

Times are those of the keystroke-level model (Card, Moran and Newell 1980; from memory): 0.28 s a key for
somebody who types as most people do, 1.1 s to point, 0.2 s to press and let go, 0.4 s to move a hand between
keys and mouse, 1.35 s to think before each step. The machine's own time is added as it is measured.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Any

KEY, POINT, PRESS, HOME, THINK = 0.28, 1.1, 0.2, 0.4, 1.35
WIDTHS = (320, 1280)


@dataclass
class Hand:
    browser: Any
    link: str
    actions: list[str] = field(default_factory=list)
    """What was done, one for each thing a person sets out to do."""
    seconds: float = 0.0

    def __post_init__(self) -> None:
        self.driver.get_log("browser")
        self.size(1280)
        self.driver.get(self.link)

    @property
    def driver(self) -> Any:
        return self.browser.driver

    @property
    def base(self) -> str:
        return self.link.partition("/enter/")[0]

    def size(self, width: int, scheme: str = "light") -> None:
        """A window of a width in a colour scheme; 320 px is 1280 at 400% (WCAG 1.4.10)."""
        size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})

    def go(self, address: str) -> None:
        """Where somebody already is, before anything is counted."""
        self.driver.get(self.base + address)

    def find(self, css: str) -> Any:
        return self.driver.find_element("css selector", css)

    def click(self, css: str) -> None:
        self._took(f"click {css}", POINT + PRESS + HOME, lambda: self._press(self.find(css).click, css))

    def enter(self, css: str) -> None:
        """Reach a button with the Tab key, and press Enter."""
        button = self.tab_to(css)
        self._press(lambda: button.send_keys("\ue007"), css)

    def _press(self, press: Any, css: str) -> None:
        """A button sends its page away: what is done next is done on the page that comes."""
        from selenium.webdriver.support.expected_conditions import staleness_of
        from selenium.webdriver.support.wait import WebDriverWait

        sends = self.find(css).tag_name == "button"
        old = self.find("html")
        press()
        if sends:
            WebDriverWait(self.driver, 60).until(staleness_of(old))

    def follow(self, words: str) -> None:
        self._took(
            f"follow {words}",
            POINT + PRESS + HOME,
            lambda: self.driver.find_element("partial link text", words).click(),
        )

    def type(self, css: str, words: str) -> None:
        """Point at a field, put in some words."""
        self._took(
            f"type into {css}",
            POINT + PRESS + HOME + KEY * len(words),
            lambda: self.find(css).send_keys(words),
        )

    def day(self, css: str, day: Any) -> None:
        """Into a browser's own field for days, in the order in which this one asks."""
        self.type(css, day.strftime("%m%d%Y"))

    def _took(self, what: str, seconds: float, do: Any) -> None:
        begun = time.monotonic()
        do()
        self.seconds += THINK + seconds + time.monotonic() - begun
        self.actions.append(what)

    def tab_to(self, css: str, *, most: int = 250) -> Any:
        """With the Tab key alone. Fails where it is out of reach."""
        from selenium.webdriver import ActionChains

        wanted = self.find(css)
        for _ in range(most):
            now = self.driver.switch_to.active_element
            if now == wanted:
                return now
            ActionChains(self.driver).send_keys("\ue004").perform()
        raise AssertionError(f"{css} cannot be reached with the Tab key")

    def newest_window(self) -> None:
        self.driver.switch_to.window(self.driver.window_handles[-1])

    def first_window(self) -> None:
        """Close all others."""
        for handle in self.driver.window_handles[1:]:
            self.driver.switch_to.window(handle)
            self.driver.close()
        self.driver.switch_to.window(self.driver.window_handles[0])

    def faults_on(self, address: str) -> list[str]:
        """What is wrong with a page, narrow and wide, light and dark: by axe, and what runs over its side."""
        found = []
        for width in WIDTHS:
            for scheme in ("light", "dark"):
                self.size(width, scheme)
                self.go(address)
                found += [f"{address}, {width} px, {scheme}: {fault}" for fault in self.browser.faults()]
                if self.browser.ask("document.documentElement.scrollWidth > innerWidth"):
                    found.append(f"{address}, {width} px: it is wider than the window")
        self.size(1280)
        return found

    def faults_of_console(self) -> list[str]:
        return [each["message"] for each in self.driver.get_log("browser")]
