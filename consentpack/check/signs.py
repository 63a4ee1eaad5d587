"""Texts that tell an urgency outside the warning signs.

A sign told in two places comes to be told in two ways, and then a patient at night reads "ring us today"
on one page and "ambulance" on another. So each sign is told once, in content/warnings, and named
elsewhere. Documents are left out: they hold the headings and boxes under which the signs are printed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.library.texts import patient_texts
from consentpack.model import Technique

TOLD_HERE = ("warnings", "documents")
"""Folders in which a patient is told how fast to act."""

_SENTENCE = re.compile(r"(?<=[.!?])[*_”’\"]*\s+|\s*[;:]\s+")
_NAMES_HELP = re.compile(
    r"clinic\.emergency_number|clinic\.phone_out_of_hours"
    r"|\bambulance|\bhospital emergency|\bemergency (?:department|room|care)\b|\bA&E\b"
    r"|\baccident and emergency\b|\b(?:is|as|be) an emergency\b|\b(?:99[09]|911|112)\b",
    re.IGNORECASE,
)
"""Somebody is named whom one rings or goes to only in a hurry."""

_RING = r"(?<!\bthe )(?<!\ba )\b(?:ring|call|phone|telephone|contact)\b"
_FAST = (
    r"\b(?:at once|straight away|right away|immediately|without delay|urgently"
    r"|(?:the|on the|that) same day|that day|(?:by )?day or night|night or day|day and night|at any hour)\b"
)
_FAST_AFTER = r"\b(?:now|today|tonight|as soon as)\b"
_RINGS_FAST = re.compile(
    rf"{_RING}.*?(?:{_FAST}|{_FAST_AFTER})|{_FAST}.*?{_RING}|\bgo to (?:a |the )?hospital\b", re.IGNORECASE
)
"""Ringing and a hurry in one sentence; "if you have a sore now, ring us before you come" is none."""


def check_signs(library: Library) -> Iterator[Problem]:
    """Every sentence outside the warning signs that tells how fast to act, with file and line."""
    for folder, module in library.modules():
        if folder in TOLD_HERE:
            continue
        key = "warnings" if isinstance(module, Technique) else "signs"
        for piece in patient_texts(module):
            for sentence in urgent(piece.text):
                yield Problem(
                    f"{module.file}, line {piece.line}",
                    f"“{sentence}” is a second telling of a sign.",
                    f"Take it out, and name the sign under {key} = […].",
                )


def urgent(text: str) -> list[str]:
    """The sentences of a text that tell how fast to get help."""
    sentences = (part.strip() for part in _SENTENCE.split(text))
    return [part for part in sentences if _NAMES_HELP.search(part) or _RINGS_FAST.search(part)]
