"""A document from its file: prose and directives in order, sections only where their condition
holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from consentpack.approvals import TRANSLATORS
from consentpack.assemble import (
    aftercare,
    around,
    check_card,
    choices,
    consent,
    diary,
    form,
    glossary,
    harms,
    layers,
    on_the_day,
    record,
    record_brief,
    record_checklists,
    record_figures,
    record_plan,
    record_reading,
    sheet,
    signing,
    sources,
    talk_back,
    timeline,
    told_before,
)
from consentpack.assemble.context import DRAFT, Context, make_context
from consentpack.assemble.inputs import Inputs, Judgement, Printed
from consentpack.assemble.shape import ABOUT_ITSELF
from consentpack.model import DocumentPlan, DocumentSection
from consentpack.talk_back import Question
from consentpack.tree import PAGE, PAGES, Block, Document, Items, Node, Paragraph, Run, Section, Source

PARTS: Mapping[str, Callable[[Context], list[Node]]] = {
    "decision": form.decision,
    "gains-and-costs": form.gains_and_costs,
    "plan-facts": form.plan_facts,
    "happens-in-short": form.happens_in_short,
    "tell-us-if": form.tell_us_if,
    "figures-panel": form.figures_panel,
    "serious-harms": form.serious_table,
    "harms-without-figure": form.without_figure,
    "choices-in-line": form.choices_in_line,
    "told-then": told_before.told_then,
    "told-now": told_before.told_now,
    "plan-summary": consent.plan_summary,
    "reason": consent.reason,
    "what-happens": on_the_day.what_happens,
    "anaesthetics": consent.anaesthetics,
    "benefits": consent.benefits,
    "how-sure": consent.how_sure,
    "how-sure-in-full": consent.how_sure_in_full,
    "steps-in-full": on_the_day.steps_in_full,
    "numbing-in-full": consent.anaesthetics_in_full,
    "figures-explained-in-full": consent.figures_explained_in_full,
    "gains-in-full": consent.gains_in_full,
    "studies-in-full": sources.studies_in_full,
    "figures-explained": consent.figures_explained,
    "risk-table": harms.risk_table,
    "harms-in-full": harms.harms_in_full,
    "may-become-necessary": choices.may_become_necessary,
    "newer": choices.newer,
    "options": choices.options,
    "choices-in-full": choices.choices_in_full,
    "goes-with": layers.goes_with,
    "factors": consent.factors,
    "before-you-come": consent.before_you_come,
    "not-good-for": consent.not_good_for,
    "my-own-words": around.my_own_words,
    "around-care": around.around_care,
    "mark-one": signing.mark_one,
    "not-wanted": signing.not_wanted,
    "apart": signing.apart,
    "agreement": signing.agreement,
    "signatures": signing.signatures,
    "interpreter": signing.interpreter,
    "witness": signing.witness,
    "confirm": signing.confirm,
    "parent": signing.parent,
    "withdrawal": signing.withdrawal,
    "contacts": aftercare.contacts,
    "figure-sources": sources.figure_sources,
    "paid-by": around.paid_by,
    "emergency-signs": aftercare.emergency_signs,
    "at-once-signs": aftercare.at_once_signs,
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
    "emergency-in-short": sheet.emergency_in_short,
    "numbers": sheet.numbers,
    "number-to-ask": sheet.number_to_ask,
    "at-once-in-short": sheet.at_once_in_short,
    "same-day-in-short": sheet.same_day_in_short,
    "tell-us-in-short": sheet.tell_us_in_short,
    "expect-in-short": sheet.expect_in_short,
    "tonight-in-short": sheet.tonight_in_short,
    "do-and-do-not": sheet.do_and_do_not,
    "timeline": timeline.timeline,
    "visit-in-short": sheet.visit_in_short,
    "treatment-in-short": sheet.treatment_in_short,
    "check-times": check_card.check_times,
    "check-how": check_card.check_how,
    "record-plan": record_plan.record_plan,
    "record-techniques": record.record_techniques,
    "record-figures": record_figures.record_figures,
    "record-beside": record_figures.record_beside,
    "record-rejected": record_figures.record_rejected,
    "record-factors": record.record_factors,
    "record-done": record.record_done,
    "record-diary": diary.record_diary,
    "record-checklist": record.record_checklist,
    "record-signatures": record.record_signatures,
}
"""Directive -> the part it stands for, where that needs nothing but the plan."""

ABOUT_THE_WORDS: Mapping[str, Callable[[Context, Printed], list[Node]]] = {
    "words-explained": glossary.words_explained,
    "about-this-document": around.about_this_document,
}
"""Parts about what the other parts print. They are built after all of them, so that it does not matter
where in the document they stand."""

ABOUT_THE_PACK: Mapping[str, Callable[[Context, Judgement], list[Node]]] = {
    "record-alerts": record_brief.record_alerts,
    "record-matter": record_brief.record_matter,
    "record-notes": record.record_notes,
    "record-readability": record_reading.record_readability,
    "record-modules": record.record_modules,
    "record-checklists": record_checklists.record_checklists,
}
"""Parts about what was found of all the documents. They stay empty until `complete`."""

ABOUT_THE_PAPERS: Mapping[str, Callable[[Context, Sequence[Question]], list[Node]]] = {
    "talk-back": talk_back.talk_back,
}
"""Parts that ask about what the patient's papers say. They stay empty until `with_questions`."""

CONTENTS = "contents"
"""The list of a document's headings: made last of all, since a part with nothing in it has none."""

BUILDERS: Mapping[str, Callable[..., list[Node]]] = {
    **PARTS,
    **ABOUT_THE_WORDS,
    **ABOUT_THE_PACK,
    **ABOUT_THE_PAPERS,
    CONTENTS: list,
}
"""Directive -> what builds it. The library's schema names the same ones (a test holds)."""

_KEPT_TOGETHER = frozenset({"interpreter", "witness", "parent", "withdrawal"})


@dataclass(frozen=True)
class Assembled:
    """One document, with what went into it."""

    document: Document
    printed: Printed
    inputs: Inputs
    built: Mapping[int, tuple[Node, ...]]
    """Line of the document's file -> what the block there became."""


def assemble(kind: str, inputs: Inputs) -> Assembled:
    """The document of one kind: an id of content/documents/.

    What is about the whole pack (`ABOUT_THE_PACK`) is not in it yet; see `complete`.
    """
    plan, ctx = inputs.library.documents[kind], make_context(inputs)
    ctx.uses(plan)
    title = ctx.title_text(plan)
    blocks = [*plan.lead, *(block for part in plan.parts for block in part.blocks)]
    built = {_line(b): tuple(_nodes(b, plan, ctx)) for b in blocks if not _waits(b)}
    printed = ctx.printed
    built |= {_line(b): tuple(_about(b, ctx, printed)) for b in blocks if _waits(b)}
    return Assembled(_laid_out(title, plan, built, ctx), ctx.printed, inputs, built)


def complete(first: Assembled, judged: Judgement) -> Assembled:
    """A document with its parts about the whole pack. What is in it already is not built again."""
    return _filled(first, ABOUT_THE_PACK, judged)


def with_questions(first: Assembled, asked: Sequence[Question]) -> Assembled:
    """A document with its questions about the other papers. What is in it already is not built again."""
    return _filled(first, ABOUT_THE_PAPERS, asked)


_About = TypeVar("_About")


def _filled(
    first: Assembled, parts: Mapping[str, Callable[[Context, _About], list[Node]]], about: _About
) -> Assembled:
    inputs = first.inputs
    plan, ctx = inputs.library.documents[first.document.kind], make_context(inputs)
    found = {
        _line(block): tuple(parts[directive](ctx, about))
        for block in (*plan.lead, *(block for part in plan.parts for block in part.blocks))
        if (directive := _directive(block)) in parts
    }
    if not found:
        return first
    built = {**first.built, **found}
    document = _laid_out(first.document.title, plan, built, ctx)
    return Assembled(document, first.printed | ctx.printed, inputs, built)


def _line(block: Block) -> int:
    return block.items[0].line


def _directive(block: Block) -> str:
    """The name of a directive; '' for prose."""
    return block.items[0].text if block.kind == "directive" else ""


def _waits(block: Block) -> bool:
    directive = _directive(block)
    return directive in {*ABOUT_THE_WORDS, *ABOUT_THE_PACK, *ABOUT_THE_PAPERS, CONTENTS}


def _nodes(block: Block, plan: DocumentPlan, ctx: Context) -> Sequence[Node]:
    directive = _directive(block)
    return PARTS[directive](ctx) if directive else ctx.bodies([block], plan)


def _about(block: Block, ctx: Context, printed: Printed) -> Sequence[Node]:
    build = ABOUT_THE_WORDS.get(_directive(block))
    return build(ctx, printed) if build else ()


def _laid_out(
    title: str, plan: DocumentPlan, built: Mapping[int, tuple[Node, ...]], ctx: Context
) -> Document:
    """The parts in the order of the document's file."""
    sections = []
    for part in plan.parts:
        nodes = tuple(node for block in part.blocks for node in built[_line(block)])
        if nodes:  # a heading with nothing under it would look as if something had been lost
            sections.append(_section(part, nodes, plan, ctx))
    return Document(
        kind=plan.id,
        title=title,
        language=ctx.catalogue.language,
        audience=plan.audience,
        clinic_name=ctx.clinic.name,
        reference=ctx.plan.reference,
        issued=ctx.words.day(ctx.plan.prepared),
        sections=tuple(sections),
        lead=tuple(node for block in plan.lead for node in _lead(block, built, sections, ctx)),
        notice=_notice(ctx),
        rtl=ctx.catalogue.rtl,
        close=plan.close,
        ring=_ring(ctx) if plan.audience == "patient" else (),
        labels=_labels(ctx, plan),
        one_sheet=plan.one_sheet,
        code=ctx.inputs.codes.get(plan.id, ""),
    )


def _lead(
    block: Block, built: Mapping[int, tuple[Node, ...]], sections: Sequence[Section], ctx: Context
) -> tuple[Node, ...]:
    """What a block that leads became; of the contents, the headings that are there."""
    if _directive(block) != CONTENTS:
        return built[_line(block)]
    if all(set(section.parts) == {ABOUT_ITSELF} for section in sections):
        return ()  # a paper that says nothing but who made it is not made at all
    said = ctx.say("In this booklet")
    label = Paragraph((Run(f"{said}{ctx.words.colon.rstrip()}"),), scored=False)
    names = (Paragraph((Run(each.heading, to=each.id),), scored=False) for each in sections)
    return (label, Items(tuple(names)))


def _ring(ctx: Context) -> tuple[tuple[str, str], ...]:
    """The numbers that a patient's page keeps in reach."""
    clinic = ctx.clinic
    return (
        (ctx.say("In an emergency"), clinic.emergency_number),
        (ctx.say("In opening hours"), clinic.phone),
        (ctx.say("At night and at weekends"), clinic.phone_out_of_hours),
    )


def _notice(ctx: Context) -> str:
    """What a reader must know of the translation before the first word of it."""
    made = ctx.catalogue.made
    if made is None or not made.by_machine or len(ctx.checked) >= TRANSLATORS:
        return ""
    return ctx.say("A machine helped to put this into your language. Ask us before you rely on it.")


def _section(part: DocumentSection, nodes: tuple[Node, ...], plan: DocumentPlan, ctx: Context) -> Section:
    directives = {directive for block in part.blocks if (directive := _directive(block))}
    heading = ctx.catalogue.block(part.heading).text
    source = Source(plan.file, part.line, plan.id)
    together = bool(directives & _KEPT_TOGETHER)
    new_side = part.heading in (*plan.new_side, plan.annex_from)
    parts, annex = tuple(sorted(directives)), part.id in plan.in_annex
    return Section(part.id, heading, nodes, source, together, parts, new_side=new_side, annex=annex)


def _in_english_too(ctx: Context, message: str) -> str:
    """A mark that staff must understand as well as the patient."""
    said = ctx.say(message)
    return said if ctx.catalogue.is_source else f"{said} · {message}"


def _on_a_phone(ctx: Context) -> dict[str, str]:
    """What a patient's page says where the paper does not: its bar of numbers, the diary that it keeps."""
    say = ctx.say
    return {
        "ring": say("Whom to ring"),
        "answers": say("{yes} / {no}", yes=say("Y"), no=say("N")),
        "yes": say("Y"),
        "no": say("N"),
        "kept": say(
            "What you choose is kept on this phone only. Nothing is sent. Show it at your next visit."
        ),
        "chosen": say("Your answers"),
        "clear": say("Clear my answers"),
    }


def _labels(ctx: Context, plan: DocumentPlan) -> dict[str, str]:
    say = ctx.say
    labels = {
        "page": say("Page {page} of {pages}", page=PAGE, pages=PAGES),
        "reference": say("Reference"),
        "draft": _in_english_too(ctx, DRAFT),
        "subject": say("Made for {clinic}", clinic=ctx.clinic.name),
    }
    if plan.audience == "patient":
        labels |= _on_a_phone(ctx)
    labels |= _standing(ctx, plan)
    if ctx.clinic.invented:
        labels["invented"] = say("Invented clinic, invented people, invented figures")
    return labels


def _standing(ctx: Context, plan: DocumentPlan) -> dict[str, str]:
    """Whether it was given, and as which version. The version of its text is no matter of a reader: who reads
    "Version 1" on two different papers takes them for one."""
    say, given = ctx.say, ctx.inputs.given
    if given is None:
        return {"version": say("Working copy, not given out")}
    return {
        "version": say("Version {version}", version=given.version),
        "given": say("Given on {day}", day=ctx.words.day(given.day)),
        "code": say("Code to scan: {code}", code=ctx.inputs.codes[plan.id]),
    }
