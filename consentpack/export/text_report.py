"""Texts as one page that needs nothing else: scores side by side, parts, hard sentences, words, advice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from consentpack.advice import RULES
from consentpack.export.score_report import length_lines, rendered, said, step
from consentpack.model import Ease, Layout, Length, Remark, Score

WIDEST = 20.0
"""The value at which a bar is full: no text for patients should come near it."""
EASE_SCALE = 100.0


@dataclass(frozen=True)
class MarkedSentence:
    """One sentence as it was scored, in pieces that are a rare word or not."""

    pieces: tuple[tuple[str, bool], ...]
    value: float
    hard: bool
    """Whether by itself it would miss the target."""


@dataclass(frozen=True)
class TextPage:
    """What the page shows of one text."""

    name: str
    title: str
    language: str
    score: Score
    length: Length
    ease: Ease | None
    layout: Layout
    remarks: tuple[Remark, ...]
    mended: float | None
    parts: tuple[tuple[str, tuple[tuple[MarkedSentence, ...], ...]], ...]
    """Heading -> its paragraphs, each in sentences."""
    words: tuple[tuple[str, str, str], ...]
    """Words explained: a word, plain words for it, what it means."""
    before: bool = False
    """Whether it is the text as it was."""


def text_report(pages: Sequence[TextPage]) -> str:
    """The page as HTML. Texts as they were stand first."""
    order = sorted(pages, key=lambda page: not page.before)
    return rendered(
        "text_report.html.j2",
        texts=[_text(page, number) for number, page in enumerate(order, 1)],
        table=[{"name": name, "cells": cells} for name, cells in _side_by_side(order)],
        changes=_changes(order),
    )


def _text(page: TextPage, number: int) -> Mapping[str, Any]:
    high_is_hard = page.score.target.high_is_hard if page.score.target else True
    full = WIDEST if high_is_hard else EASE_SCALE
    return {
        "id": f"text-{number}",
        "page": page,
        "when": "before" if page.before else "",
        "bars": [
            {
                "heading": part.heading,
                "value": said(part.grade),
                "words": part.words,
                "step": step(page.score.target, part.grade),
                "width": 0 if part.grade is None else round(100 * min(max(part.grade, 0), full) / full),
                "over": part.id in page.score.over,
            }
            for part in page.score.sections
        ],
        "rules": [
            (RULES[rule], list(found))
            for rule, found in groupby(page.remarks, key=lambda remark: remark.rule)
        ],
    }


def _side_by_side(pages: Sequence[TextPage]) -> Iterator[tuple[str, list[str]]]:
    """A row for each thing that is compared, with a cell for each text."""
    yield "Value that decides", [_decides(page.score) for page in pages]
    yield (
        "Target",
        [f"{p.score.target.limit:g}, {p.score.target.who}" if p.score.target else "–" for p in pages],
    )
    yield "Our count, textstat's own", [f"{said(p.score.corrected)}, {said(p.score.textstat)}" for p in pages]
    kinds = {each.kind: each.name for page in pages if page.ease for each in page.ease.easier_than}
    for kind, name in kinds.items():
        yield f"Easier than: {name}", [_easier(page.ease, kind) for page in pages]
    yield "Words a sentence; longest", [f"{p.score.sentence_length:.1f}; {_longest(p.ease)}" for p in pages]
    yield "Rare words", [str(len(page.ease.rare)) if page.ease else "–" for page in pages]
    yield "Length", ["; ".join(length_lines(page.length)) for page in pages]
    yield (
        "Layout and use",
        [f"{p.layout.seen} of the {p.layout.asked} items a program can see" for p in pages],
    )
    yield "An editor would change", [str(len(page.remarks)) for page in pages]
    yield "Value if all that is changed", [said(page.mended) for page in pages]


def _decides(score: Score) -> str:
    if not score.measures:
        return "no measure for this language"
    return f"{score.measure} {said(score.grade)}{' – over' if score.over else ''}"


def _easier(ease: Ease | None, kind: str) -> str:
    found = next((each.of_100 for each in ease.easier_than if each.kind == kind), None) if ease else None
    return "–" if found is None else f"{found} of 100"


def _longest(ease: Ease | None) -> str:
    return f"{ease.longest_words}" if ease else "–"


def _changes(pages: Sequence[TextPage]) -> list[str]:
    """What one text before and one after differ by, in sentences; empty where there are not just these."""
    if [page.before for page in pages] != [True, False]:
        return []
    old, new = pages
    found = []
    if old.score.grade is not None and new.score.grade is not None and old.score.measure == new.score.measure:
        found.append(f"{new.score.measure}: {old.score.grade:.1f} before, {new.score.grade:.1f} after.")
    for was, now in zip(_kinds(old), _kinds(new), strict=False):
        found.append(f"Easier than {was.of_100} of 100 {was.name} before, {now.of_100} after.")
    found.append(f"Words: {old.length.words:,} before, {new.length.words:,} after.")
    found.append(f"What an editor would change: {len(old.remarks)} before, {len(new.remarks)} after.")
    return found


def _kinds(page: TextPage) -> tuple[Any, ...]:
    return page.ease.easier_than if page.ease else ()
