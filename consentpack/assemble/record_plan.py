"""The plan at a glance: the first thing on the first page of the record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from consentpack.assemble.context import Context, cell
from consentpack.catalogues import name_in_both
from consentpack.consent_rules import waited
from consentpack.tree import Cell, Node, Paragraph, Run, Table

LABELLED = (14, 86)
"""Widths of a table with a label before each row."""


def labelled(label: str) -> Cell:
    """The label of a row, found at a glance."""
    return cell(Paragraph((Run(label, strong=True),)), head=True)


def record_plan(ctx: Context) -> list[Node]:
    """What is planned, where, when, by whom and why; nothing of it stands a second time."""
    say = ctx.say
    made = tuple((labelled(label), cell(*lines)) for label, lines in plan_lines(ctx))
    summary = say("What is planned, where, when, by whom and why.")
    return [Table((say("Plan"), say("As it was written")), made, LABELLED, summary)]


def plan_lines(ctx: Context) -> Sequence[tuple[str, Sequence[str]]]:
    """The rows of the plan: a label with its lines."""
    say = ctx.say
    return (
        (say("What"), list(_planned(ctx))),
        (say("Where"), [_place(ctx)]),
        (say("When"), [_days(ctx)]),
        (say("Who"), [_people(ctx)]),
        (say("Why"), [ctx.plan.reason]),
    )


def _planned(ctx: Context) -> Iterable[str]:
    """The techniques by name; the newer ones named as newer."""
    groups = (
        ("", ctx.matches.techniques),
        (ctx.say("Numbing: "), ctx.matches.anaesthetics),
        (ctx.say("If needed on the day: "), ctx.matches.may_become_necessary),
    )
    for before, matches in groups:
        names = [f"{t.title} ({t.standing})" for t in ctx.techniques(matches)]
        if names:
            yield f"{before}{'; '.join(names)}"


def _place(ctx: Context) -> str:
    strata = (
        (s.title.capitalize(), ctx.plan.strata.get(id, "")) for id, s in ctx.library.field.strata.items()
    )
    named = (f"{title}: {value}" for title, value in strata if value)
    return "; ".join((ctx.plan.condition, ctx.plan.site, *named))


def _days(ctx: Context) -> str:
    plan, say, day = ctx.plan, ctx.say, ctx.words.day
    found = (
        (say("Prepared"), plan.prepared),
        (say("information given"), plan.information_given),
        (say("treatment"), plan.treatment_date),
    )
    sessions = say("sessions: {number}", number=plan.sessions)
    days = "; ".join((*(f"{label} {day(on)}" for label, on in found if on), sessions))
    return f"{days}. {say('Time to think')}: {_time_to_think(ctx)}"


def _people(ctx: Context) -> str:
    plan, say = ctx.plan, ctx.say
    taken = f"; {say('consent taken by')} {plan.consent_taken_by}" if plan.consent_taken_by else ""
    speaks = f"; {say('interpreter')}: {ctx.patients_language}" if ctx.patients_language else ""
    language = f"{say('language')}: {name_in_both(plan.language)}"
    who = f"{plan.clinician}, {plan.clinician_role}{taken}"
    return f"{who}. {say('Patient')} {plan.reference}; {language}{speaks}"


def _time_to_think(ctx: Context) -> str:
    """How many days the patient had, how many the clinic's rules ask for, and whose rules."""
    found, rule = waited(ctx.plan, ctx.clinic), ctx.library.rules.get(ctx.clinic.consent.rule)
    if rule is None:
        return ctx.say("The clinic has named no rules in [consent] of clinic.toml; not checked.")
    asked = ctx.say("{asked} asked for ({where})", asked=found.asked, where=rule.where)
    if found.days is None:
        return ctx.say("not checked, because a day is missing in the plan; {asked}", asked=asked)
    return ctx.say("{days} days up to the {until}; {asked}", days=found.days, until=found.until, asked=asked)
