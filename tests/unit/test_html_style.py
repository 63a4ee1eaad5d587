"""The style of the pages: contrast in light and dark, and what may be hidden from sight."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from consentpack.export import html


def css() -> str:
    text = (Path(html.__file__).parent / "document.css").read_text(encoding="utf-8")
    return re.sub(r"/\*.*?\*/", "", text, flags=re.S)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.1)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_published_values():
    """#767676 on white is 4.54, #777777 is 4.48: the usual pair either side of WCAG 1.4.3's 4.5."""
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54
    assert round(contrast("#777777", "#ffffff"), 2) == 4.48


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("front", "back", "least"),
    [
        ("ink", "paper", 4.5),
        ("ink", "soft", 4.5),
        ("link", "paper", 4.5),
        ("urgent", "paper", 4.5),
        ("line", "paper", 3),
    ],
)
def test_colours_have_the_contrast_of_wcag_1_4_3_and_1_4_11(scheme, front, back, least):
    colours = [
        dict(re.findall(r"--(\w+): (#\w{6})", rule))
        for rule in re.findall(r":root \{([^}]*--[^}]*)\}", css())
    ]
    assert len(colours) == 2
    assert contrast(colours[scheme][front], colours[scheme][back]) >= least


def test_every_caption_but_the_emergency_tables_is_for_screen_readers_only():
    """The others say again what the heading above them says. On paper the emergency table's goes too: the
    row below says "Ring … now", and all signs have to stand on page one."""
    screen, paper = css().split("@media print")
    hidden = [re.findall(r"([^{}]*)\{[^}]*clip-path", part) for part in (screen, paper)]
    found = [[rule.strip() for rule in rules if "caption" in rule] for rules in hidden]
    assert [found[0], [rule.split("*/")[-1].strip() for rule in found[1]]] == [
        ["table:not(.urgent) caption"],
        [".urgent caption"],
    ]
