"""The minimum standards of the International Patient Decision Aid Standards: items that qualify a
decision aid, and items that certify it."""

from __future__ import annotations

import re

from consentpack.check.checklists.conditions import no_test, nothing_published
from consentpack.check.checklists.item import (
    FORM,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
    there,
)
from consentpack.check.checklists.looking import (
    STUDIES,
    SURE,
    line_tags,
    of_a_document,
    part,
    rows_of,
    said,
    stated,
    unsaid,
    values,
)
from consentpack.check.checklists.shared import (
    CONSENT,
    benefits_listed,
    each_option_says,
    each_technique_says,
    in_group,
    risks_listed,
)
from consentpack.tree import Cell, Items, Paragraph

_Q = ListOf(Published("IPDAS", "minimum standards, version 4.0", "2014", "S"))
_LISTED = 2
"""A row has what it is, and how many."""


def condition(held: Held) -> Finding:
    return stated(held.of(FORM), held.plan.condition, where=f"{CONSENT}, first page")


def decision(held: Held) -> Finding:
    own = [n for n in held.of(FORM).lead if isinstance(n, Paragraph) and of_a_document(n)]
    return there(own, where=f"{CONSENT}, first lines", what="words on the decision")


def options(held: Held) -> Finding:
    return each_option_says(held, "What it is")


def gains(held: Held) -> Finding:
    first, second = each_option_says(held, "What it may gain"), benefits_listed(held)
    return first if not first.holds else second


def harms(held: Held) -> Finding:
    first = each_option_says(held, "What can go wrong")
    second = risks_listed(held, in_group(held, "expected", "possible", "serious"), "risks")
    return first if not first.holds else second


def experience(held: Held) -> Finding:
    treating = [held.library.techniques[match.id] for match in held.matches.techniques]
    return each_technique_says(held, "what-happens", treating, "How it feels", "Recovery")


def shown_alike(held: Held) -> Finding:
    """Gains and harms each have a row with its figure, or with the words that there is none."""
    missing = [
        f"figure for {id}"
        for directive, ids in (
            ("benefits", [m.id for m in held.matches.benefits]),
            ("risk-table", [m.id for m in held.matches.risks]),
        )
        for rows in (rows_of(part(held.of(FORM), directive)),)
        for id in ids
        if (row := rows.get(id)) and not _has_figure(row)
    ]
    return lacking(missing, where=CONSENT, what="a figure, or that there is none, for each gain and harm")


def _has_figure(row: tuple[Cell, ...]) -> bool:
    return len(row) == _LISTED and bool(row[1].content)


def cited(held: Held) -> Finding:
    rates = [answer.rate for answer in held.rates.values() if answer.rate]
    wanted = {rate.source for rate in rates if rate.level == "published"}
    wanted |= {answer.told.source for answer in held.rates.values() if answer.told}
    nodes = part(held.of(FORM), *STUDIES)
    found = sum(len(node.items) for node in nodes if isinstance(node, Items))
    missing = [f"{len(wanted) - found} of {len(wanted)} sources"] if found < len(wanted) else []
    return lacking(missing, where=f"{CONSENT}, where the figures come from", what=f"{found} sources")


def dated(held: Held) -> Finding:
    found = held.of(FORM).issued in values(part(held.of(FORM), "about-this-document"))
    return there(found, where=f"{CONSENT}, about this form", what="day it was made")


def update_policy(held: Held) -> Finding:
    """A day in a year in which modules are due: a year is the same number in every language."""
    due = {module.review_by.year for _, module in held.library.modules()}
    printed = " ".join(values(part(held.of(FORM), "about-this-document")))
    found = due & {int(number) for number in re.findall(r"\d+", printed)}
    return there(found, where=f"{CONSENT}, about this form", what="day of the next check")


def uncertainty(held: Held) -> Finding:
    nodes = part(held.of(FORM), *SURE)
    printed = said(held, nodes)
    missing = [line for t in held.techniques for line in unsaid(printed, t, "How sure we are")]
    return lacking(missing, where=f"{CONSENT}, how much is known", what="how sure we are of each technique")


def funding(held: Held) -> Finding:
    found = "funding" in line_tags(part(held.of(FORM), "paid-by"))
    return there(found, where=f"{CONSENT}, about this form", what="line for who paid")


IPDAS = Checklist(
    "ipdas",
    "Patient decision aids (IPDAS)",
    (
        _Q.machine("1.1.1", "Describes the condition", condition),
        _Q.machine("1.1.2", "States the decision to be made", decision),
        _Q.machine("1.1.3", "Describes the choices", options),
        _Q.machine("1.1.4", "What is good about each choice", gains),
        _Q.machine("1.1.5", "What is bad about each choice", harms),
        _Q.machine("1.2.1", "What it is like to go through it", experience),
        _Q.machine("2.1.1", "Gains and harms are shown alike, each with its figure", shown_alike),
        _Q.machine("2.2.1", "Cites the evidence", cited, unless=nothing_published),
        _Q.machine("2.2.2", "The day it was made", dated),
        _Q.machine("2.2.3", "When it will be looked at again", update_policy),
        _Q.machine("2.2.4", "How sure the figures are", uncertainty),
        _Q.machine("2.3.1", "Who paid for it", funding),
        _Q.person("2.4.1", "Test: what it measures", unless=no_test),
        _Q.person("2.4.2", "Test: what follows if something is found", unless=no_test),
        _Q.person("2.4.3", "Test: what follows if nothing is found", unless=no_test),
        _Q.person("2.4.4", "Test: finding what would never have done harm", unless=no_test),
    ),
)
