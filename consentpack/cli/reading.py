"""Reading scores and editors' remarks as lines of a terminal."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from consentpack.model import Ease, Layout, Length, RareWord, Remark, Score
    from consentpack.readability import Scorer
    from consentpack.tree import Document


SHOWN_RARE = 10
"""Rare words that are named in a line; the page has them all."""


def print_score(
    name: str, document: Document, result: Score, length: Length, scorer: Scorer, *, worst: int
) -> None:
    """Grade, measures, length, parts, what was left out, and the hardest sentences."""
    from consentpack.length import told  # noqa: PLC0415
    from consentpack.readability import described  # noqa: PLC0415

    click.echo(f"{name}: {headline(result)}")
    for line in [*_measures(result), f"length: {told(length)}"]:
        click.echo(f"  {line}")
    for section in result.sections:
        over = "  OVER" if section.id in result.over else ""
        click.echo(f"  {_grade(section.grade):>10}  {section.heading} ({section.words} words){over}")
    for sentence in scorer.worst_sentences(document, worst if result.measures else 0):
        click.echo(f"  hardest: {described(sentence)}")


def print_ease(document: Document, ease: Ease | None) -> None:
    """The score beside the grade: what is harder, what it counted, its warnings, rare words."""
    for line in ease_lines(document, ease):
        click.echo(f"  {line}")


def ease_lines(document: Document, ease: Ease | None) -> list[str]:
    """The same as lines."""
    from consentpack.readability import has_ease  # noqa: PLC0415

    if ease is None:
        why = "too few words" if has_ease(document.language) else "it is made for English alone"
        return [f"beside the grade: no second score; {why}"]
    return said_of_ease(ease)


def said_of_ease(ease: Ease) -> list[str]:
    """A score beside the grade as lines, with the words behind it."""
    easier = ", ".join(f"{each.of_100} of 100 {each.name}" for each in ease.easier_than)
    lines = [
        f"beside the grade: easier than {easier}",
        f"counted: common words {ease.counted['familiarity']:.2f}, "
        f"{ease.counted['unlisted']:.0f} in 100 words off the children's list, "
        f"{ease.counted['ideas']:.1f} ideas and {ease.numbers:.1f} numbers a sentence, "
        f"longest sentence {ease.longest_words} words",
    ]
    lines += [f"warning: most {each.name} are easier" for each in ease.harder_than_half]
    if ease.rare:
        lines.append(f"rare words: {', '.join(map(_rare, ease.rare[:SHOWN_RARE]))}{_more(ease)}")
    return lines


def _rare(word: RareWord) -> str:
    times = f", {word.times} times" if word.times > 1 else ""
    return f"{word.word} ({word.zipf:.1f}{times}{f'; “{word.plain}”' if word.plain else ''})"


def _more(ease: Ease) -> str:
    more = len(ease.rare) - SHOWN_RARE
    return f" and {more} more" if more > 0 else ""


def headline(result: Score) -> str:
    """The value that decides and its target, in a few words."""
    if not result.measures:
        return f"we have no validated measure for '{result.language}'; nothing is judged"
    if result.target is None:
        return f"{result.measure} {_grade(result.grade)} (no target)"
    over = "  OVER" if "" in result.over and result.grade is not None else ""
    said = "grade" if result.measure.startswith("Flesch-Kincaid") else result.measure
    target = f"target {result.target.limit:g}, {result.target.who}"
    return f"{said} {_grade(result.grade)} ({target}){over}"


def _measures(result: Score) -> list[str]:
    lines = []
    if result.corrected is not None and result.textstat is not None:
        plain = (
            ""
            if result.plain_terms is None
            else f"; with clinical terms said plainly {result.plain_terms:.1f}"
        )
        lines.append(f"our count {result.corrected:.1f}, textstat's own {result.textstat:.1f}{plain}")
    taken = [f"{m.name} {m.value:.1f}" for m in result.measures[1:] if m.value is not None]
    if taken:
        lines.append(", ".join(taken))
    lines += [f"{m.name}: not scored; {m.why_not}" for m in result.measures if m.value is None and m.why_not]
    size = f"{result.words} words in {result.sentences} sentences"
    lines.append(f"{size}: {result.sentence_length:.1f} words a sentence")
    lines.append(f"{result.long_words:.0f} in 100 words have more than six letters")
    if result.left_out:
        left = ", ".join(f"{number} {kind}" for kind, number in result.left_out.items())
        lines.append(f"not scored: {left}")
    lines += [f"note: {warning}" for warning in result.spread]
    return lines


def print_layout(layout: Layout) -> None:
    """What published instruments ask for: what a program sees of it, and what a person must judge."""
    click.echo(f"\n  layout and use: {layout.seen} of the {layout.asked} items that a program can see here")
    for item in layout.items:
        if item.status != "nothing to see":
            click.echo(f"    {item.status:8}  {item.says} ({item.items}): {item.why}")
    click.echo("  A person must still judge:")
    for question, items in layout.for_a_person:
        click.echo(f"    {question} ({items})")


def print_remarks(remarks: tuple[Remark, ...], result: Score, mended: float | None) -> None:
    """Remarks by rule, each with its place, advice, and what its change would do to the grade."""
    from consentpack.advice import RULES  # noqa: PLC0415
    from consentpack.readability import root  # noqa: PLC0415

    if root(result.language) != "en":
        click.echo("  advice is given on English texts alone.")
        return
    if not remarks:
        click.echo("  an editor would change nothing.")
        return
    for rule, group in groupby(remarks, key=lambda remark: remark.rule):
        click.echo(f"\n  {rule}: {RULES[rule]}")
        for remark in group:
            click.echo(f"    {remark.source}: “{remark.found}”. {remark.advice}")
            click.echo(f"      now:     {remark.text}")
            if remark.instead:
                click.echo(f"      instead: {remark.instead}{_effect(remark)}")
    if mended is not None and result.corrected is not None:
        click.echo(f"\n  All suggestions taken: {result.corrected:.1f} → {mended:.1f}")


def _effect(remark: Remark) -> str:
    if remark.before is None or remark.after is None:
        return ""
    return f"  ({remark.before:.2f} → {remark.after:.2f})"


def _grade(grade: float | None) -> str:
    return "not scored" if grade is None else f"{grade:.1f}".replace("-0.0", "0.0")
