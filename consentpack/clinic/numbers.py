"""Numbers to ring."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem
from consentpack.strict import TomlText

NUMBERS = ("phone", "phone_out_of_hours", "emergency_number")


def wrong_number(key: str, words: str) -> str:
    """What is wrong with a number to ring, finishing a sentence that begins with its key; '' if nothing."""
    if key not in NUMBERS or sum(letter.isdigit() for letter in words) >= _FEWEST_DIGITS:
        return ""
    return f"should be a number that can be rung; it is '{words}'."


_FEWEST_DIGITS = 3
"""Of a number to ring: an ambulance's has three (112, 911, 999)."""


def check_numbers(clinic: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    """A patient who bleeds at night must not find a word where a number should stand."""
    return [
        Problem(toml.where(key, table="clinic"), f"'{key}' {wrong}")
        for key in NUMBERS
        if (wrong := wrong_number(key, clinic[key]))
    ]
