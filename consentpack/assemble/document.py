"""A document from its file: prose and directives in order, sections only where their condition
holds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from consentpack.approvals import TRANSLATORS
from consentpack.assemble import (
    aftercare,
    around,
    choices,
    consent,
    diary,
    glossary,
    on_the_day,
    record,
    record_checklists,
    record_figures,
    record_reading,
    signing,
    sources,
)
from consentpack.assemble.context import DRAFT, Context
from consentpack.model import DocumentPlan, DocumentSection
from consentpack.tree import PAGE, PAGES, Block, Document, Node, Section, Source

PARTS: Mapping[str, Callable[[Context], list[Node]]] = {
    "plan-summary": consent.plan_summary,
    "in-short": consent.in_short,
    "reason": consent.reason,
    "what-happens": on_the_day.what_happens,
    "anaesthetics": consent.anaesthetics,
    "benefits": consent.benefits,
    "how-sure": consent.how_sure,
    "figures-explained": consent.figures_explained,
    "risk-table": consent.risk_table,
    "may-become-necessary": choices.may_become_necessary,
    "newer": choices.newer,
    "options": choices.options,
    "factors": consent.factors,
    "not-good-for": consent.not_good_for,
    "my-own-words": around.my_own_words,
    "around-care": around.around_care,
    "tissue": around.tissue,
    "photographs": signing.photographs,
    "agreement": signing.agreement,
    "signatures": signing.signatures,
    "interpreter": signing.interpreter,
    "witness": signing.witness,
    "confirm": signing.confirm,
    "withdrawal": signing.withdrawal,
    "contacts": aftercare.contacts,
    "words-explained": glossary.words_explained,
    "figure-sources": sources.figure_sources,
    "about-this-document": around.about_this_document,
    "paid-by": around.paid_by,
    "emergency-signs": aftercare.emergency_signs,
    "same-day-signs": aftercare.same_day_signs,
    "tell-us-signs": aftercare.tell_us_signs,
    "done-summary": aftercare.done_summary,
    "what-was-used": aftercare.what_was_used,
    "care-tonight": aftercare.care_tonight,
    "care-tomorrow": aftercare.care_tomorrow,
    "care-first-week": aftercare.care_first_week,
    "care-later": aftercare.care_later,
    "care-expect": aftercare.care_expect,
    "when-you-can": diary.when_you_can,
    "diary": diary.diary,
    "medicines": aftercare.medicines,
    "follow-up": aftercare.follow_up,
    "record-plan": record.record_plan,
    "record-techniques": record.record_techniques,
    "record-figures": record_figures.record_figures,
    "record-beside": record_figures.record_beside,
    "record-rejected": record_figures.record_rejected,
    "record-notes": record.record_notes,
    "record-factors": record.record_factors,
    "record-readability": record_reading.record_readability,
    "record-modules": record.record_modules,
    "record-done": record.record_done,
    "record-diary": diary.record_diary,
    "record-checklist": record.record_checklist,
    "record-checklists": record_checklists.record_checklists,
    "record-signatures": record.record_signatures,
}
"""Directive -> the part it stands for. The library's schema names the same ones (a test holds)."""

_KEPT_TOGETHER = frozenset({"agreement", "signatures", "interpreter", "witness", "confirm", "withdrawal"})


def assemble(kind: str, ctx: Context, *, draft: tuple[str, ...] = ()) -> Document:
    """The finished document of one kind ('consent', 'aftercare' or 'record')."""
    plan = ctx.library.documents[kind]
    ctx.used[plan.file] = plan
    sections = []
    for part in plan.parts:
        nodes = tuple(_nodes(part.blocks, plan, ctx))
        if nodes:  # a heading with nothing under it would look as if something had been lost
            sections.append(_section(part, nodes, plan, ctx))
    return Document(
        kind=kind,
        title=ctx.title_text(plan),
        language=ctx.catalogue.language,
        audience=plan.audience,
        clinic_name=ctx.clinic.name,
        reference=ctx.plan.reference,
        issued=ctx.words.day(ctx.plan.prepared),
        sections=tuple(sections),
        lead=tuple(_nodes(plan.lead, plan, ctx)),
        notice=_notice(ctx),
        rtl=ctx.catalogue.rtl,
        draft=draft,
        labels=_labels(ctx, plan),
    )


def _notice(ctx: Context) -> str:
    """What a reader must know of the translation before the first word of it."""
    made = ctx.catalogue.made
    if made is None or not made.by_machine or len(ctx.checked) >= TRANSLATORS:
        return ""
    return ctx.say("A machine helped to put this into your language. Ask us before you rely on it.")


def _nodes(blocks: Iterable[Block], plan: DocumentPlan, ctx: Context) -> list[Node]:
    found: list[Node] = []
    for block in blocks:
        if block.kind == "directive":
            found += PARTS[block.items[0].text](ctx)
        else:
            found += ctx.bodies([block], plan)
    return found


def _section(part: DocumentSection, nodes: tuple[Node, ...], plan: DocumentPlan, ctx: Context) -> Section:
    directives = {b.items[0].text for b in part.blocks if b.kind == "directive"}
    heading = ctx.catalogue.block(part.heading).text
    source = Source(plan.file, part.line, plan.id)
    together = bool(directives & _KEPT_TOGETHER)
    return Section(part.id, heading, nodes, source, together, tuple(sorted(directives)))


def _in_english_too(ctx: Context, message: str) -> str:
    """A mark that staff must understand as well as the patient."""
    said = ctx.say(message)
    return said if ctx.catalogue.is_source else f"{said} · {message}"


def _labels(ctx: Context, plan: DocumentPlan) -> dict[str, str]:
    say = ctx.say
    labels = {
        "page": say("Page {page} of {pages}", page=PAGE, pages=PAGES),
        "reference": say("Reference"),
        "version": say("Version {version}", version=plan.version),
        "draft": _in_english_too(ctx, DRAFT),
        "subject": say("Made for {clinic}", clinic=ctx.clinic.name),
    }
    if ctx.clinic.invented:
        labels["invented"] = say("Invented clinic, invented people, invented figures")
    return labels
