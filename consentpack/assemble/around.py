"""The parts around the choice itself: the patient's own words, who else helps, what it costs, what is
taken off, and who made the form. Mostly empty lines and boxes: only clinic and patient know."""

from __future__ import annotations

from consentpack.assemble.context import Context
from consentpack.assemble.inputs import Printed
from consentpack.catalogues import name_in_both
from consentpack.tree import Choice, Facts, Field, Fields, Node, Run


def ticks(ctx: Context, choices: tuple[tuple[str, str], ...]) -> list[Node]:
    """Empty tick boxes from pairs of words and tag."""
    return [Choice((Run(ctx.say(message)),), tag=tag) for message, tag in choices]


def my_own_words(ctx: Context) -> list[Node]:
    """What matters to the patient, in the patient's own hand (GMC 2020; GMC cosmetic 2016, para 17)."""
    lines = (
        Field(ctx.say("What I hope for"), tag="hopes"),
        Field(ctx.say("What worries me most"), tag="worries"),
        Field(ctx.say("Help I need to hear, read or speak"), tag="support"),
    )
    return [Fields("", lines, tag="patient-words")]


def around_care(ctx: Context) -> list[Node]:
    """Who else takes part, money and interests: lines for the clinic to fill in."""
    lines = (
        Field(ctx.say("Other doctors who help, and what they do"), tag="other-doctors"),
        Field(ctx.say("Nurses and others who help, and what they do"), tag="other-staff"),
        Field(ctx.say("What it costs"), tag="cost"),
        Field(ctx.say("Who pays if I need more care"), tag="further-cost"),
        Field(ctx.say("What the clinic gains if I choose this"), tag="interests"),
    )
    title = ctx.say("Your clinician fills this in")
    return [Fields(title, lines, tag="around-care")]


def about_this_document(ctx: Context, printed: Printed) -> list[Node]:
    """Who made it and how old its words are: the oldest check and the nearest review day of them all."""
    modules = printed.used.values()
    checked, again = min(m.reviewed for m in modules), min(m.review_by for m in modules)
    pairs = (
        (ctx.say("Made by"), ctx.clinic.name),
        (ctx.say("Made on"), ctx.words.day(ctx.plan.prepared)),
        (ctx.say("Words last checked"), ctx.words.day(checked)),
        (ctx.say("To be checked again by"), ctx.words.day(again)),
    )
    return [Facts((*pairs, *_translation(ctx)))]


def _translation(ctx: Context) -> tuple[tuple[str, str], ...]:
    """Whose words they are in this language (ISO 17100: who translated, and who else checked)."""
    made = ctx.catalogue.made
    if made is None:
        return ()
    return (
        (ctx.say("Language"), name_in_both(ctx.catalogue.language)),
        (ctx.say("Translated from"), ctx.say("English")),
        (ctx.say("Translated by"), made.by or ctx.say("a machine")),
        (ctx.say("Checked by"), ctx.words.listed(list(ctx.checked)) or ctx.say("nobody yet")),
    )


def paid_by(ctx: Context) -> list[Node]:
    """A place for the source of funding (IPDAS 2.3.1); the program cannot know it."""
    return [Fields("", (Field(ctx.say("Who paid for the making of this form"), tag="funding"),))]
