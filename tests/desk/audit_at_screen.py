"""Somebody at the audit's pages in a real browser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

WIDTHS = (320, 1280)


@dataclass
class Screen:
    browser: Any
    link: str

    def __post_init__(self) -> None:
        self.driver.get_log("browser")
        self.size(1280)
        self.driver.get(self.link)

    @property
    def driver(self) -> Any:
        return self.browser.driver

    @property
    def path(self) -> str:
        return self.driver.current_url.removeprefix(self.base)

    @property
    def base(self) -> str:
        return self.link.partition("/enter/")[0]

    @property
    def words(self) -> str:
        return self.driver.find_element("tag name", "main").text

    def size(self, width: int, scheme: str = "light") -> None:
        size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})

    def go(self, address: str) -> None:
        self.driver.get(self.base + address)

    def find(self, css: str) -> Any:
        return self.driver.find_element("css selector", css)

    def field(self, label: str) -> Any:
        """What a label, or a name for those who hear the page, is of."""
        labels = self.driver.find_elements("xpath", f"//label[starts-with(normalize-space(), '{label}')]")
        if labels:
            return self.driver.find_element("id", labels[0].get_attribute("for"))
        return self.driver.find_element("xpath", f"//*[@aria-label='{label}']")

    def choose(self, label: str, value: str) -> None:
        Select(self.field(label)).select_by_value(value)

    def sign(self, name: str) -> None:
        """Say who is doing this."""
        Select(self.find("#by")).select_by_visible_text(name)

    def press(self, words: str) -> None:
        self.driver.find_element("xpath", f"//button[starts-with(normalize-space(), '{words}')]").click()

    def tab_to(self, css: str, *, most: int = 250) -> None:
        """With the Tab key alone. Fails where it is out of reach."""
        wanted = self.find(css)
        for _ in range(most):
            now = self.driver.switch_to.active_element
            if now == wanted:
                return
            ActionChains(self.driver).send_keys(Keys.TAB).perform()
        raise AssertionError(f"{css} cannot be reached with the Tab key")

    def faults_on(self, address: str) -> list[str]:
        """What is wrong with a page, narrow and wide, light and dark: by axe, and what runs over its side."""
        found = []
        for width in WIDTHS:
            for scheme in ("light", "dark"):
                self.size(width, scheme)
                self.go(address)
                if self.browser.ask("document.documentElement.scrollWidth > innerWidth"):
                    found.append(f"{address}, {width} px: it is wider than the window")
                found += [f"{address}, {width} px, {scheme}: {fault}" for fault in self._faults(scheme)]
        self.size(1280)
        return found

    def _faults(self, scheme: str) -> list[str]:
        """axe cannot tell the contrast of what a table's own scrolling hides: the same words are looked at in
        a window that has room for them."""
        found = self.browser.faults()
        if not any(fault.startswith("color-contrast") for fault in found):
            return found
        self.size(1280, scheme)
        again = [fault for fault in self.browser.faults() if fault.startswith("color-contrast")]
        return [fault for fault in found if not fault.startswith("color-contrast")] + again

    def faults_of_console(self) -> list[str]:
        return [each["message"] for each in self.driver.get_log("browser")]
