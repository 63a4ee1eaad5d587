"""What more than one list asks for. Each list gives it its own name, and fails for itself."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.check.checklists.item import FORM, SHEET, Finding, Held, lacking, there
from consentpack.check.checklists.looking import (
    CHOICES,
    HARMS,
    flat,
    modules,
    part,
    rows_of,
    said,
    tables,
    unsaid,
)
from consentpack.library.schema import TIERS
from consentpack.model import Module, Technique
from consentpack.tree import Facts, Items, Node, Paragraph

CONSENT, AFTERCARE, RECORD = "consent form", "aftercare sheet", "record"
CARE_PARTS = ("care-tonight", "care-tomorrow", "care-first-week", "care-later")
"""The parts of the aftercare sheet by period, in the order of `library.schema.PERIODS`."""


def each_option_says(held: Held, *labels: str) -> Finding:
    """Every other choice, doing nothing among them, with some of its sections."""
    printed = said(held, part(held.of(FORM), *CHOICES))
    found = [held.library.options[match.id] for match in held.matches.options]
    missing = [line for option in found for line in unsaid(printed, option, *labels)]
    return lacking(missing, where=f"{CONSENT}, other choices", what=f"{len(found)} choices with all of it")


def each_technique_says(held: Held, directive: str, techniques: Iterable[Technique], *labels: str) -> Finding:
    """Techniques with some of their sections, in one part of the form."""
    nodes, all_of = part(held.of(FORM), directive), list(techniques)
    printed = said(held, nodes)
    missing = [line for technique in all_of for line in unsaid(printed, technique, *labels)]
    missing += [f"words of {t.id}" for t in all_of if t.id not in modules(nodes)]
    return lacking(missing, where=f"{CONSENT}, part {directive}", what=", ".join(t.id for t in all_of))


def risks_listed(held: Held, wanted: Iterable[str], what: str) -> Finding:
    """Risks with a row in the table of what can go wrong: their own, or that of the matched risk in which
    patients read of them."""
    rows, ids = rows_of(part(held.of(FORM), *HARMS)), list(wanted)
    missing = [id for id in ids if _teller(held, id) not in rows]
    return lacking(missing, where=f"{CONSENT}, what can go wrong", what=f"{len(ids)} {what}")


def _teller(held: Held, id: str) -> str:
    """The risk whose row tells of this one."""
    other = held.library.risks[id].told_with
    return other if other in {match.id for match in held.matches.risks} else id


def risks_say(held: Held, label: str) -> Finding:
    """Every listed risk with one of its sections."""
    nodes = part(held.of(FORM), *HARMS)
    rows, printed = rows_of(nodes), said(held, nodes)
    listed = [r for id, r in held.library.risks.items() if id in rows]
    missing = [line for risk in listed for line in unsaid(printed, risk, label)]
    return lacking(missing, where=f"{CONSENT}, what can go wrong", what=f"“{label}” for {len(listed)} risks")


def benefits_listed(held: Held) -> Finding:
    """Benefits with a row of their own."""
    nodes = part(held.of(FORM), "benefits")
    ids = [match.id for match in held.matches.benefits]
    rows = rows_of(nodes)
    missing = [id for id in ids if id not in rows] if nodes else ["part with what one may gain"]
    return lacking(missing, where=f"{CONSENT}, what you may gain", what=", ".join(ids))


def in_group(held: Held, *groups: str) -> list[str]:
    """Ids of the matched risks of some groups, but for those that are told in the row of another."""
    matched = {match.id: held.library.risks[match.id] for match in held.matches.risks}
    return [id for id, risk in matched.items() if risk.group in groups and risk.told_with not in matched]


def warnings_say(held: Held, label: str) -> Finding:
    """Every warning sign with one of its sections, in the part of its own tier."""
    missing: list[str] = []
    printed = {tier: said(held, _tier(held, tier)) for tier in TIERS}
    for match in held.matches.warnings:
        warning = held.library.warnings[match.id]
        missing += unsaid(printed[warning.tier], warning, label)
    count = len(held.matches.warnings)
    return lacking(missing, where=f"{AFTERCARE}, warning signs", what=f"“{label}” for {count} signs")


def _tier(held: Held, tier: str) -> tuple[Node, ...]:
    if tier == "ambulance":  # they stand before the first heading
        return held.of(SHEET).lead
    return part(held.of(SHEET), "tell-us-signs" if tier == "at-visit" else f"{tier}-signs")


def topics_say(held: Held, labels: Iterable[str], nodes_of: str, topics: Iterable[Module]) -> list[str]:
    """Sections of aftercare topics that a part of the sheet does not print."""
    printed = said(held, part(held.of(SHEET), nodes_of))
    return [line for topic in topics for line in unsaid(printed, topic, *labels)]


def summary_first(held: Held) -> Finding:
    """What is planned, as facts, before the first heading."""
    found = [body for body in flat(held.of(FORM).lead) if isinstance(body, Facts)]
    return there(found, where=f"{CONSENT}, first page", what="summary of the plan")


def actions_named(held: Held) -> Finding:
    """At least one thing to do at home."""
    lists = [b for name in CARE_PARTS for b in flat(part(held.of(SHEET), name)) if isinstance(b, Items)]
    return there(lists, where=AFTERCARE, what="things to do at home")


def figures_explained(held: Held) -> Finding:
    """How to read the figures, and how to fill in the diary where there is one."""
    missing = [] if part(held.of(FORM), "figures-explained") else ["part on how to read the figures"]
    diary = part(held.of(SHEET), "diary")
    if tables(diary) and not any(isinstance(body, Paragraph) for body in flat(diary)):
        missing.append("words on how to fill in the diary")
    return lacking(missing, where="both documents", what="how to read the figures and fill in the diary")
