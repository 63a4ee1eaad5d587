"""The reading report of a library as one HTML file that needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any, Protocol

from consentpack.model import SLOW, USUAL, Ease, Length, ReadingTarget, Remark, Score

SHADES = (
    (0, "three grades or more to spare"),
    (1, "two to three to spare"),
    (2, "one to two to spare"),
    (3, "less than one to spare"),
    (4, "over the target"),
    ("none", "not scored"),
)
"""A box's shade -> what it means. The number in the box says the same."""
_GRADE_STEP = 1.0
_EASE_STEP = 10.0
"""Ease scales run from 0 to 100; ten points are about one school grade."""


class Row(Protocol):
    """What the report needs to know of one text."""

    @property
    def folder(self) -> str: ...
    @property
    def id(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def language(self) -> str: ...
    @property
    def score(self) -> Score: ...
    @property
    def remarks(self) -> tuple[Remark, ...]: ...
    @property
    def trend(self) -> float | None: ...
    @property
    def over(self) -> tuple[str, ...]: ...
    @property
    def length(self) -> Length: ...
    @property
    def ease(self) -> Ease | None: ...


def score_report(rows: Sequence[Row], *, title: str) -> str:
    """The report as HTML, the hardest text of each language first."""
    over, long = sum(bool(row.over) for row in rows), sum(bool(row.length.over) for row in rows)
    unjudged = {row.language for row in rows} - {row.language for row in rows if row.score.target}
    by_language = sorted(rows, key=lambda r: (r.language in unjudged, r.language))
    languages = [
        (language, [_row(row) for row in sorted(group, key=hardest_first)])
        for language, group in groupby(by_language, key=lambda r: r.language)
    ]
    summary = f"{len(rows)} texts were read; {over} miss their reading target, {long} are too long."
    return rendered("score_report.html.j2", title=title, summary=summary, shades=SHADES, languages=languages)


def rendered(template: str, **values: Any) -> str:
    """A page of this folder with its values; all words are escaped."""
    import jinja2  # noqa: PLC0415

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        trim_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    return environment.get_template(template).render(**values)


def hardest_first(row: Row) -> float:
    """By this, texts of any language stand in order: what misses its target by most first, what is not judged
    last.

    Grades of two measures are no numbers of one kind, and on some of them high is easy: how far a text is
    from its own target can be compared.
    """
    target, grade = row.score.target, row.score.grade
    if target is None or grade is None:
        return 1000.0
    return _to_spare(target, grade)


def _to_spare(target: ReadingTarget, value: float) -> float:
    """How far a value is on the easy side of its target, in steps of about a grade."""
    if target.high_is_hard:
        return (target.limit - value) / _GRADE_STEP
    return (value - target.limit) / _EASE_STEP


def _row(row: Row) -> Mapping[str, Any]:
    score = row.score
    return {
        "title": row.title,
        "name": f"{row.folder}/{row.id}",
        "over": bool(row.over),
        "value": said(score.grade),
        "target": f"{score.target.limit:g}" if score.target else "none exists",
        "length": length_lines(row.length),
        "too_long": bool(row.length.over),
        "trend": "–" if row.trend is None else f"{row.trend:+.1f}",
        "parts": [
            {"heading": s.heading, "value": said(s.grade), "step": step(score.target, s.grade)}
            for s in score.sections
        ],
        "easier": [f"{each.of_100} of 100 {each.name}" for each in row.ease.easier_than] if row.ease else [],
        "rare": [word.word for word in row.ease.rare] if row.ease else [],
        "remarks": row.remarks,
    }


def length_lines(length: Length) -> list[str]:
    """Words, sides and minutes, each beside its limit where it has one."""
    shown = [("words", "words"), ("sides", "sides"), ("large_print_sides", "sides in large print")]
    found = [
        f"{number:,} {what}{f' of {limit:,}' if (limit := getattr(length.limits, name)) else ''}"
        f"{' over' if name in length.over else ''}"
        for name, what in shown
        if (number := getattr(length, name)) is not None
    ]
    usual, slow = length.minutes
    return [*found, f"{usual:.1f} minutes at {USUAL} words a minute", f"{slow:.1f} at {SLOW}"]


def said(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f}"


def step(target: ReadingTarget | None, value: float | None) -> str:
    if target is None or value is None:
        return "none"
    spare = _to_spare(target, value)
    if spare < 0:
        return "4"
    return str(max(0, 3 - int(spare)))
