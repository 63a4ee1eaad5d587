"""Words as HTML: control characters, and words that run against the page."""

from __future__ import annotations

import pytest

from consentpack.export._html import text


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("a\x00b\x1b\x7f\x85c", "abc"),
        ("a\ud800b\ufffe", "ab"),
        ("a\tb\r\nc\u2028d", "a b c d"),
        ("turned \u202eround\u202c \u2067and\u2069", "turned round and"),
        ("zero\u200dwidth and no\u00a0break stay", "zero\u200dwidth and no\u00a0break stay"),
    ],
)
def test_control_characters_are_dropped(typed, shown):
    assert text(typed) == shown


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("Dr נועה לוי, room 2", 'Dr <bdi dir="rtl">נועה לוי</bdi>, room 2'),
        ("عيادة 5", '<bdi dir="rtl">عيادة</bdi> 5'),
        ("naïve café – 5 °C", "naïve café – 5 °C"),
    ],
)
def test_right_to_left_words_in_an_english_page_are_isolated(words, shown):
    """UAX #9: without it the number after a Hebrew or Arabic word is drawn before it."""
    assert text(words) == shown


@pytest.mark.parametrize("kept", ["020 7946 0101", "1-3", "0.5 mg", "38.5 °C", "50%", "+44 20 7946 0101"])
def test_numbers_in_a_right_to_left_page_keep_their_order(kept):
    """Samples that are drawn in the wrong order without it (seen in LibreOffice)."""
    assert text(f"اتصل {kept} الآن", rtl=True) == f'اتصل <bdi dir="ltr">{kept}</bdi> الآن'
