"""The Clear Communication Index of the US Centers for Disease Control and Prevention. The main
message is taken to be the aftercare sheet's emergency signs; figures and risks are the consent form's."""

from __future__ import annotations

from consentpack.check.checklists.conditions import no_emergency, no_figures
from consentpack.check.checklists.item import (
    FORM,
    SHEET,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
    there,
)
from consentpack.check.checklists.looking import (
    SURE,
    everything,
    modules,
    part,
    rows_of,
    said,
    tables,
    unsaid,
)
from consentpack.check.checklists.shared import (
    AFTERCARE,
    CONSENT,
    actions_named,
    benefits_listed,
    each_option_says,
    figures_explained,
    in_group,
    risks_listed,
    risks_say,
    summary_first,
    warnings_say,
)
from consentpack.tree import Cell, Items, bodies

_C = ListOf(Published("US CDC", "Clear Communication Index", "2019", "S"))
_FEWEST_LINES = 2
"""A figure is never alone: beside it stand its other side, its range or whose it is."""


def message_at_top(held: Held) -> Finding:
    emergency = {m.id for m in held.matches.warnings if held.library.warnings[m.id].tier == "ambulance"}
    first = held.of(SHEET).lead[:1]
    found = bool(first) and emergency <= modules(first)
    return there(found, where=f"{AFTERCARE}, first of all", what="emergency signs")


def message_marked(held: Held) -> Finding:
    framed = [table for table in tables(everything(held.of(SHEET))) if table.urgent]
    return there(framed, where=AFTERCARE, what="heavy frame round the emergency signs")


def call_to_action(held: Held) -> Finding:
    return warnings_say(held, "What to do")


def listed(held: Held) -> Finding:
    missing = [
        f"list in the {document.kind}"
        for document in (held.of(FORM), held.of(SHEET))
        if not any(isinstance(b, Items) for n in everything(document) for b in bodies(n))
    ]
    return lacking(missing, where="both documents", what="points in lists")


def chunks(held: Held) -> Finding:
    missing = [
        f"heading of “{section.id}”"
        for document in (held.of(FORM), held.of(SHEET))
        for section in document.sections
        if not section.heading.strip()
    ]
    return lacking(missing, where="both documents", what="a heading for each part")


def known_and_unknown(held: Held) -> Finding:
    nodes = part(held.of(FORM), *SURE)
    printed = said(held, nodes)
    missing = [line for t in held.techniques for line in unsaid(printed, t, "How sure we are")]
    options = each_option_says(held, "What we do not know")
    where = f"{CONSENT}, how much is known"
    return options if not options.holds else lacking(missing, where=where, what="for each technique")


def risk_told(held: Held) -> Finding:
    return risks_say(held, "What you may notice")


def both_sides(held: Held) -> Finding:
    gains = benefits_listed(held)
    harms = risks_listed(held, in_group(held, "expected", "possible", "serious"), "risks")
    return gains if not gains.holds else harms


def figure_in_words(held: Held) -> Finding:
    paper = held.of(FORM)
    quoted = [id for id, answer in held.rates.items() if answer.rate]
    rows = rows_of(part(paper, "risk-table", "benefits")) | rows_of(
        part(paper, "harms-in-full", "gains-in-full")
    )
    missing = [f"words beside the figure of {id}" for id in quoted if id in rows and _bare(rows[id])]
    return lacking(missing, where=CONSENT, what=f"words beside each of {len(quoted)} figures")


def _bare(row: tuple[Cell, ...]) -> bool:
    return len(row[-1].content) < _FEWEST_LINES


CLEAR_INDEX = Checklist(
    "cdc-index",
    "Clear Communication Index (CDC)",
    (
        _C.person("A1", "One main message"),
        _C.machine(
            "A2", "The main message at the top", message_at_top, unless=no_emergency, where="aftercare sheet"
        ),
        _C.machine(
            "A3", "The main message stands out", message_marked, unless=no_emergency, where="aftercare sheet"
        ),
        _C.person("A4", "A picture that supports it; our documents have none, is one needed?"),
        _C.machine("A5", "What to do", call_to_action, where="aftercare sheet"),
        _C.person("A6", "Message and action in the active voice"),
        _C.person("A7", "Words the readers use"),
        _C.machine("A8", "Lists", listed, where="all three"),
        _C.machine("A9", "Parts with headings", chunks, where="all three"),
        _C.machine("A10", "What matters most is summed up first", summary_first),
        _C.machine("A11", "What is known and what is not", known_and_unknown),
        _C.machine("B12", "What the reader should do", actions_named, where="aftercare sheet"),
        _C.person("B13", "Why it matters"),
        _C.person("B14", "How to do it"),
        _C.person("C15", "Numbers the readers use"),
        _C.machine("C16", "Numbers are explained", figures_explained, unless=no_figures),
        _C.person("C17", "The reader has nothing to reckon out"),
        _C.machine("D18", "What each risk is like", risk_told),
        _C.machine("D19", "Risks and gains", both_sides),
        _C.machine("D20", "Beside each figure there are words", figure_in_words, unless=no_figures),
    ),
)
