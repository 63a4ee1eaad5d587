"""Tags of paragraphs in which an answer stands: the same in every language, and no reader sees them."""

from __future__ import annotations

CHOICES = "choices-named"
"""The paragraph that names what else there is."""
NO_FIGURE = "no-figure"
"""The paragraph that names harms of which nothing was counted."""
AT_NIGHT = "number-at-night"
_PLANNED, _OUTCOME, _CHOICE = "planned:", "outcome:", "choice:"


def planned(technique: str) -> str:
    """Of the paragraph that says what is planned."""
    return f"{_PLANNED}{technique}"


def outcome(id: str) -> str:
    """Of the paragraph that names an outcome, beside its figure or before it."""
    return f"{_OUTCOME}{id}"


def choice(option: str) -> str:
    """Of the paragraph that names another choice, at the head of its row."""
    return f"{_CHOICE}{option}"


def is_planned(tag: str) -> bool:
    return tag.startswith(_PLANNED)


def outcome_of(tag: str) -> str:
    """The outcome that a tag names; '' for another tag."""
    return tag.removeprefix(_OUTCOME) if tag.startswith(_OUTCOME) else ""


def choice_of(tag: str) -> str:
    """The choice that a tag names; '' for another tag."""
    return tag.removeprefix(_CHOICE) if tag.startswith(_CHOICE) else ""
