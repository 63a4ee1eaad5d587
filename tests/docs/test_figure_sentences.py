"""Every sentence of docs/reference/figures.md is read back to the counts that stand beside it.

The reader shares nothing with the writer: whole numbers by fractions, Wilson's limits by statsmodels.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from statsmodels.duration.survfunc import SurvfuncRight
from statsmodels.stats.proportion import proportion_confint

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/reference/figures.md").read_text(encoding="utf-8").partition("## What patients read")[2]
ROWS = [row.strip("| ").split(" | ") for row in PAGE.splitlines() if re.match(r"\| [a-z0-9]", row)][1:]
_N = r"([\d,]+)"


def integer(word: str) -> int:
    return int(word.replace(",", ""))


def near(events: int, n: int, out_of: int, said: int) -> bool:
    """Whether a whole number is the share rounded half up."""
    return math.floor(Fraction(events * out_of, n) + Fraction(1, 2)) == said


def limits(events: int, n: int, lost: int) -> tuple[int, int]:
    low, _ = proportion_confint(events, n + lost, method="wilson")
    _, high = proportion_confint(events + lost, n + lost, method="wilson")
    return math.floor(round(100 * low, 9)), math.ceil(round(100 * high, 9))


class Counts:
    """The numbers of the left column."""

    def __init__(self, said: str):
        self.said = said
        first = re.search(rf"{_N} of {_N}", said)
        self.events, self.n = (integer(x) for x in first.groups()) if first else (0, 0)
        self.lost = self.number(r"^counts .*lost (\d+)", said)
        self.closer_lost = self.number(r"closer .*lost (\d+)", said)
        self.closer = self.pair(rf"closer {_N} of {_N}", said)
        self.step = self.pair(rf"on the day {_N} of {_N}", said)
        self.study = self.pair(rf"beside it, {_N} of {_N}", said)
        self.unequal = [(integer(n), how, integer(day)) for n, how, day in re.findall(_UNEQUAL, said)]
        if self.unequal:
            watched = re.match(rf"{_N} watched unequally", said)
            assert watched
            self.n = integer(watched[1])
            self.events = sum(n for n, how, _ in self.unequal if how == "seen")
        percent = re.search(r"told ([\d.]+)%", said)
        self.percent = float(percent[1]) if percent else None

    @staticmethod
    def number(pattern: str, said: str) -> int:
        found = re.search(pattern, said)
        return int(found[1]) if found else 0

    @staticmethod
    def pair(pattern: str, said: str) -> tuple[int, int]:
        found = re.search(pattern, said)
        return (integer(found[1]), integer(found[2])) if found else (0, 0)


_UNEQUAL = rf"{_N} (seen|left) on day {_N}"


def by_days(c: Counts) -> tuple[float, float]:
    """Product limit and effective number (Rothman 1978), with Greenwood's variance; by statsmodels."""
    times = [(day, how == "seen") for n, how, day in c.unequal for _ in range(n)]
    times += [(10**3, False)] * (c.n - len(times))
    found = SurvfuncRight([day for day, _ in times], [int(seen) for _, seen in times])
    free, error = float(found.surv_prob[-1]), float(found.surv_prob_se[-1])
    return 1 - free, free * (1 - free) / error**2


def share(c: Counts, said: int, word: str, events: int, n: int) -> bool:
    if c.unequal:
        part = by_days(c)[0] if events == c.events else 1 - by_days(c)[0]
        return math.floor(100 * part + 0.5) == said
    if word == "fewer than":
        return said == 1 and events > 0 and near(events, n, 100, 0)
    if word == "more than":
        return said == 99 and events < n and near(events, n, 100, 100)
    return near(events, n, 100, said)


_SHORT = {"under ": "fewer than", "over ": "more than"}


def starred(c: Counts, words: str) -> bool:
    """Whether a figure has its star where it is a study's, and nowhere else."""
    return ("people in a study" in c.said) == words.endswith("*")


# Pattern -> whether the numbers in it are those of the counts. The longest patterns go first.
def _reads(c: Counts) -> list[tuple[str, object]]:
    k, n = c.events, c.n
    low, high = limits(k, n, c.lost) if n else (0, 0)
    if c.unequal:
        part, effective = by_days(c)
        ends = proportion_confint(part * effective, effective, method="wilson")
        low, high = math.floor(100 * ends[0]), math.ceil(100 * ends[1])
    closer_n, wide = c.closer[1], high - low > 50
    return [
        (rf"Fewer than 1 in every 100 \w+ \((fewer than|about) {_N} in every {_N}\)\.",
         lambda m: (m[1] == "about" and near(k, n, integer(m[3]), integer(m[2])))
         or (m[1] == "fewer than" and near(k, n, integer(m[3]), 0))),
        (rf"(About|More than|Fewer than) {_N} in every 100 (?:treatments|people)\.",
         lambda m: share(c, integer(m[2]), m[1].lower(), k, n)),
        (rf"(About|More than|Fewer than) {_N} in every 100 did not have it\.",
         lambda m: share(c, integer(m[2]), m[1].lower(), n - k, n)),
        (rf"None in {_N} treatments so far\.", lambda m: k == 0 and integer(m[1]) == n),
        (rf"All of {_N} treatments so far\.", lambda m: k == n == integer(m[1])),
        (rf"We saw it in {_N} of {_N} treatments here like yours\.",
         lambda m: (integer(m[1]), integer(m[2])) == c.closer),
        (rf"In our own clinic we saw it in {_N} of {_N} treatments so far\.",
         lambda m: (integer(m[1]), integer(m[2])) == c.closer),
        (rf"We saw it in {_N} of {_N} treatments\.", lambda m: (integer(m[1]), integer(m[2])) == (k, n)),
        (rf"We do not know about {_N} more treatments?\.",
         lambda m: integer(m[1]) == (c.closer_lost if closer_n else c.lost)),
        (rf"If (?:we counted many more|many more were counted), it would most likely be from "
         rf"(fewer than 1|{_N}) to {_N} in every 100\.",
         lambda m: (0 if m[1] == "fewer than 1" else integer(m[1]), integer(m[3])) == (low, high)
         and not wide and ("people" in c.said) == ("were counted" in m[0])),
        (r"The true number could be much higher or lower\.", lambda m: wide and 0 < k < n),
        (rf"The true number could be up to about {_N} in every 100\.",
         lambda m: k == 0 and integer(m[1]) == high),
        (rf"The true number could be as low as {_N} in every 100\.",
         lambda m: k == n and integer(m[1]) == low),
        (r"The true number is likely to be fewer than 1 in every 100\.", lambda m: high == 1),
        (rf"From {_N} treatments here[^.:]*(?:: [^.]*)?\.(?: They were watched for [^.]*\.)?",
         lambda m: integer(m[1]) == n and over_what_time(c, m[0])),
        (r"We may not have watched each of them for [^.]*\.", lambda m: over_what_time(c, "at some time.")),
        (rf"A study saw it in {_N} of {_N} people\.", lambda m: (integer(m[1]), integer(m[2])) == (k, n)),
        (rf"A study saw it in (about|fewer than) {_N} in every 100 people\.",
         lambda m: c.percent is not None and (
             round(c.percent) == integer(m[2]) if m[1] == "about" else 0 < c.percent < 0.5)),
        (rf"A study elsewhere found: about {_N} in every 100 people\. It was in people\.",
         lambda m: near(*c.study, 100, integer(m[1]))),
        (rf"If we need this on the day \([^)]*\): about {_N} in every 100 treatments\.",
         lambda m: near(*c.step, 100, integer(m[1]))),
        (r"But it is (more|less) than (?:the study found|in the others we counted)\.",
         lambda m: closer_n > 0 and (m[1] == "less") == c.said.startswith("a gain")),
        (r"They were watched (?:for [^.]*|on the day)\.", lambda m: True),
        (r"One clinic may be too small to see it\.|That does not mean it cannot happen\.",
         lambda m: k == 0),
        (r"[A-Z][^.\d]*\.", lambda m: True),  # a sentence without a number
        # in short
        (rf"none in {_N}", lambda m: k == 0 and integer(m[1]) == n),
        (rf"{_N} of {_N}\*?", lambda m: (integer(m[1]), integer(m[2])) == (k, n) and starred(c, m[0])),
        (rf"(under |over )?{_N} in 100\*?",
         lambda m: share(c, integer(m[2]), _SHORT.get(m[1], "about"), k, n) and starred(c, m[0])),
        (rf"\(up to {_N}(?: in 100)?\)", lambda m: low == 0 and integer(m[1]) == high and not wide),
        (rf"\({_N} to {_N}(?: in 100)?\)",
         lambda m: (integer(m[1]), integer(m[2])) == (low, high) and not wide),
        (rf"\({_N} more not known\)", lambda m: wide and integer(m[1]) == c.lost > 0),
        (r"\(too few to tell\)", lambda m: wide and not c.lost),
        (rf"In a study: {_N} in 100", lambda m: near(*c.study, 100, integer(m[1]))),
        (r"no reliable figure", lambda m: n == 0),
    ]  # fmt: skip


def over_what_time(c: Counts, words: str) -> bool:
    """Whether a sentence speaks of time as what was counted lets it."""
    if "no last-seen day" in c.said or "not watched to the end" in c.said:
        return words.endswith("at some time.")
    if c.unequal or "no day is known" in c.said:
        return ("watched for up to" if c.unequal else "watched for at least") in words
    return bool(re.search(r"watched for \d", words))


def unread(counts: str, words: str) -> Iterator[str]:
    """What of a cell cannot be read, or is not what its counts say."""
    c, left = Counts(counts), words
    while left:
        for pattern, holds in _reads(c):
            found = re.match(pattern, left)
            if found:
                if not holds(found):  # type: ignore[operator]
                    yield found[0]
                left = left[found.end() :].lstrip()
                break
        else:
            yield f"cannot be read: {left}"
            return


def test_the_page_has_rows():
    assert len(ROWS) > 30 and all(len(row) == len(("counts", "words", "in short")) for row in ROWS)


@pytest.mark.parametrize(("counts", "words", "short"), ROWS, ids=[row[0] for row in ROWS])
def test_each_sentence_says_the_counts_beside_it(counts, words, short):
    assert list(unread(counts, words)) == []
    assert list(unread(counts, short)) == []


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        ("12 of 100", "About 13 in every 100 treatments."),
        ("12 of 100", "If we counted many more, it would most likely be from 7 to 20 in every 100."),
        (
            "counts 17 of 68, lost 104",
            "If we counted many more, it would most likely be from 6 to 77 in every 100.",
        ),
        ("counts 8 of 234", "The true number could be much higher or lower."),
        ("counts 8 of 234", "We saw it in 8 of 235 treatments."),
        ("48 of 192; closer 8 of 12", "We saw it in 9 of 12 treatments here like yours."),
        ("0 of 86", "None in 68 treatments so far."),
        ("12 of 100", "Out of 100, 12 had it."),
        ("19 of 54; no day is known", "From 54 treatments here like yours, watched for 2 weeks."),
        ("30 of 100; no last-seen day is known", "From 100 treatments here, watched for 2 weeks."),
        ("9 watched unequally: 3 seen on day 3, 3 left on day 5", "About 34 in every 100 treatments."),
        ("100 watched unequally: 10 seen on day 3, 40 left on day 5, 10 seen on day 10", "20 in 100"),
        ("12 of 100", "12 in 100*"),
        ("12 of 100", "12 in 100 (7 to 20)"),
        ("counts 17 of 68, lost 104", "17 of 68 (6 to 77 in 100)"),
        ("counts 17 of 68, lost 104", "17 of 68 (103 more not known)"),
        ("counts 8 of 234", "8 of 234 (too few to tell)"),
        ("12 of 100", "no reliable figure"),
    ],
)
def test_a_sentence_that_says_something_else_is_found(counts, words):
    assert list(unread(counts, words))


_SOURCE = re.compile(
    rf"- (.+): Counted here from [^:]+: {_N} treatments(?: for some figures, {_N} for others)?\.(.*)"
)


@pytest.mark.parametrize("line", [line for line in PAGE.splitlines() if line.startswith("- ")])
def test_the_line_of_source_says_of_how_many_and_for_how_long(line):
    found = _SOURCE.fullmatch(line)
    assert found, line
    counts = sorted(integer(n) for n in re.findall(rf"of {_N}", found[1]))
    assert [integer(n) for n in found.groups()[1:3] if n] == counts
    days = [integer(n) for n in re.findall(rf"in {_N}", found[1])]
    time = " to ".join({14: "2 weeks", 180: "6 months"}[n] for n in days)
    least = "at least " if "no day is known" in found[1] else ""
    said = {0: "", 1: " They were watched for ", 2: " Watched for "}[len(days)]
    assert found[4] == (f"{said}{least}{time}." if said else "")


def messages() -> Iterator[str]:
    """Every English sentence of the modules that say figures to patients, with its placeholders."""
    figures, short = (
        ast.parse((ROOT / f"consentpack/assemble/{name}.py").read_text(encoding="utf-8"))
        for name in ("figures", "short_figures")
    )
    wording = ast.parse((ROOT / "consentpack/wording.py").read_text(encoding="utf-8"))
    words = next(n for n in wording.body if isinstance(n, ast.ClassDef) and n.name == "Words")
    saying = [f for f in words.body if isinstance(f, ast.FunctionDef) and f.name not in NO_FIGURES]
    for tree in (figures, short, *saying):
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if name in ("say", "phrase", "phrases", "N_", "para"):
                    yield from (
                        a.value for a in node.args if isinstance(a, ast.Constant) and "{" in str(a.value)
                    )


NO_FIGURES = {"span", "watching", "counted", "number", "day", "listed", "either", "sentences", "series"}
"""Numbers with their units; they stand in the sentences."""
PICTURES = re.compile(r"\{marks\}|\{of\} marks|^\{fewer\}")
"""What a picture is called for who cannot see it; and what only joins two others."""


@pytest.mark.parametrize("message", sorted({m for m in messages() if not PICTURES.search(m)}))
def test_every_pattern_of_the_program_is_on_the_page(message):
    pattern = r".+?".join(map(re.escape, re.split(r"\{\w+\}", message)))
    one = pattern.replace(r"more\ treatment\.", r"more\ treatments?\.")
    assert re.search(one, PAGE, re.IGNORECASE), message
