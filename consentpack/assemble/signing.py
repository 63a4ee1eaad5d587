"""The parts that carry legal weight: agreement, signatures, photographs, interpreter, withdrawal.
They are built here as typed nodes, not written in Markdown, so that none can lose a line by an
edit. How a line to tick is worded stands in tick_boxes.toml."""

from __future__ import annotations

from consentpack.assemble.context import Context
from consentpack.catalogues import N_
from consentpack.library.schema import UNDER_AGE
from consentpack.tree import Box, Cell, Choice, Facts, Field, Fields, Items, Node, Paragraph, Run, Table


def _words(ctx: Context, tag: str) -> str:
    """A line of tick_boxes.toml in the patient's language."""
    return ctx.say(ctx.library.ticks[tag].words)


def _choice(ctx: Context, tag: str) -> Choice:
    return Choice((Run(_words(ctx, tag)),), tag=tag)


def agreement(ctx: Context) -> list[Node]:
    """What the patient has had and knows, to tick; then what signing says, to read. Nothing is ticked."""
    promise = Paragraph((Run(ctx.say(ctx.library.field.sentences["no_promise"])),), tag="no-promise")
    known = ("who", "change-mind", "only-if", *(("numbing",) if ctx.matches.anaesthetics else ()))
    stated = (promise, *(Paragraph((Run(_words(ctx, tag)),), tag=tag) for tag in known))
    columns = ctx.say("I have"), ctx.say("When I sign, I say this too")
    had = tuple(_choice(ctx, tag) for tag in ("read", "questions", "risks", "options"))
    cells = Cell(had), Cell((Items(stated),))
    return [Table(columns, (cells,), (46, 54), ctx.say("What I have had, and what signing says"))]


def mark_one(ctx: Context) -> list[Node]:
    """Yes, not yet or no: three answers of one weight, of which one is marked."""
    answers = (
        (N_("Yes, I agree to this treatment."), "agree"),
        (N_("Not yet. I want more time, or to ask another clinician first."), "not-yet"),
        (N_("No, I do not want this treatment."), "refuse"),
    )
    marks = (Choice((Run(ctx.say(message)),), tag=tag, one_of=True) for message, tag in answers)
    return [Box(ctx.say("My choice: mark one"), tuple(marks))]


def apart(ctx: Context) -> list[Node]:
    """What is agreed to by itself, and no part of the treatment: more on the day, who is there, photographs,
    what is taken off.

    One choice per purpose of a photograph (GMC, Making and using recordings of patients, 2011; from memory).
    Tissue has a place of its own (Department of Health 2009): it is sent to be tested unless that is refused
    in writing, since a blank must never mean thrown away (NICE guidance of 2006, second hand).
    """
    removed = bool(ctx.matches.tissue)
    yes = (
        *(("agree-extra",) if ctx.plan.may_become_necessary else ()),
        "students",
        "gp-letter",
        *(f"photo-{purpose}" for purpose in ctx.clinic.consent.photographs),
        *(("tissue-kept",) if removed else ()),
    )
    no = ("gp-no-letter", "photo-none", "no-copy", *(("tissue-refused",) if removed else ()))
    columns = ctx.say("I say yes to"), ctx.say("I say no to")
    tissue = (Field(ctx.say("What we will do with what we take off"), tag="tissue"),) if removed else ()
    said = ctx.say("What I agree to apart from the treatment")
    cells = tuple(Cell(tuple(_choice(ctx, tag) for tag in some)) for some in (yes, no))
    made: list[Node] = [Table(columns, (cells,), (56, 44), said)]
    return [*made, Fields("", tissue)] if tissue else made


def not_wanted(ctx: Context) -> list[Node]:
    """A line for what may not be done, whatever is agreed to."""
    return [Fields("", (Field(ctx.say("What I do not want to be done"), tag="not-wanted"),))]


def signed(ctx: Context) -> tuple[Field, ...]:
    """The lines of one signature."""
    return (
        Field(ctx.say("Signature"), "signature"),
        Field(ctx.say("Date"), "date"),
        Field(ctx.say("Time"), "time"),
    )


def signatures(ctx: Context) -> list[Node]:
    """A row for each person who signs."""
    stated = ctx.say(
        "I have explained the treatment, what it may gain, what can go wrong and the other "
        "choices, with no treatment among them. I have given a copy of this form."
    )
    born = Field(ctx.say("Date of birth"), "date", tag="born")
    does = Field(ctx.say("I will do it, or be there (yes or no)"), tag="does-it")
    given = Field(ctx.say("Leaflets given with this form"), tag="leaflets")
    return [
        Fields(ctx.say("Patient"), (_name(ctx), born), tag="patient-named", in_row=True),
        Fields("", signed(ctx), tag="patient", in_row=True),
        Fields(ctx.say("Clinician who held this talk"), (given,), (Run(stated),), tag="clinician-talk"),
        Fields("", (name_and_role(ctx), does), tag="clinician-named", in_row=True),
        Fields("", signed(ctx), tag="clinician", in_row=True),
    ]


def witness(ctx: Context) -> list[Node]:
    """For a patient who agrees and cannot sign."""
    stated = ctx.say("The patient agreed in my presence and could not sign.")
    lines = (_name(ctx), *signed(ctx))
    signs = Fields(ctx.say("Witness"), lines, (Run(stated),), tag="witness")
    return [*_whose(ctx), signs]


def parent(ctx: Context) -> list[Node]:
    """For one under age; nothing for anybody else."""
    if UNDER_AGE not in ctx.plan.factors:
        return []
    agreed = ctx.say("I have read this form and agree to the treatment of my child.")
    lines = (_name(ctx), *signed(ctx))
    return [
        *_whose(ctx),
        Fields(ctx.say("Parent or guardian"), lines, (Run(agreed),), tag="parent"),
    ]


def _whose(ctx: Context) -> list[Node]:
    """Whose slip it is, and of which treatment: a slip lies in the notes without the form."""
    born = Field(ctx.say("Date of birth"), "date", tag="born")
    planned = [ctx.title_text(t) for t in ctx.techniques(ctx.matches.techniques)]
    pairs = (
        (ctx.say("Our reference"), ctx.plan.reference),
        (ctx.say("What we plan"), ctx.words.series(planned)),
        (ctx.say("In opening hours"), ctx.say("{phone} ({hours})", phone=ctx.clinic.phone, hours=ctx.hours)),
        (ctx.say("Where we are"), ", ".join(ctx.clinic.address)),
    )
    return [Facts(pairs), Fields(ctx.say("Patient"), (_name(ctx), born), tag="whose")]


def confirm(ctx: Context) -> list[Node]:
    """A second signature on the day: consent may have been given weeks before."""
    stated = ctx.say("I still want this treatment. I have told you what has changed since I signed.")
    lines = (_name(ctx), *signed(ctx))
    return [Fields(ctx.say("On the day of treatment"), lines, (Run(stated),), tag="confirm", in_row=True)]


def _name(ctx: Context) -> Field:
    return Field(ctx.say("Name"), tag="name")


def name_and_role(ctx: Context) -> Field:
    return Field(ctx.say("Name and role"), tag="name-and-role")


def interpreter(ctx: Context) -> list[Node]:
    found = _whose(ctx)
    if ctx.patients_language:
        found.append(Facts(((ctx.say("Language"), ctx.patients_language),)))
    stated = ctx.say(
        "I have put what was said into the patient’s language as well as I can. I believe the "
        "patient understood it."
    )
    fields = (
        Field(ctx.say("Language"), tag="language"),
        Field(ctx.say("In person, by phone or by video"), tag="how"),
        Field(ctx.say("Name or number of the interpreter"), tag="name"),
        *signed(ctx),
    )
    return [*found, Fields(ctx.say("Interpreter"), fields, (Run(stated),), tag="interpreter")]


def withdrawal(ctx: Context) -> list[Node]:
    stated = ctx.say("I have changed my mind. I do not want this treatment.")
    signs = Fields(ctx.say("Patient"), signed(ctx), (Run(stated),), tag="withdrawal")
    return [*_whose(ctx), signs]
