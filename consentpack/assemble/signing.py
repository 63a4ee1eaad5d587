"""The parts that carry legal weight: agreement, signatures, photographs, interpreter, withdrawal.
They are built here as typed nodes, not written in Markdown, so that none can lose a line by an
edit."""

from __future__ import annotations

from consentpack.assemble.context import Context
from consentpack.catalogues import N_
from consentpack.library.schema import UNDER_AGE
from consentpack.tree import Choice, Facts, Field, Fields, Node, Run


def _choice(ctx: Context, message: str, tag: str) -> Choice:
    return Choice((Run(ctx.say(message)),), tag=tag)


def photographs(ctx: Context) -> list[Node]:
    """One choice per purpose, none made in advance (GMC, Making and using
    recordings of patients, 2011: each purpose by itself; from memory)."""
    asked = {
        "notes": N_("Yes, you may take photos for my notes."),
        "teaching": N_("Yes, you may show my photos to teach staff."),
        "publication": N_("Yes, you may use my photos in a talk or a journal."),
        "publicity": N_("Yes, you may show my photos on your website or in an advert."),
    }
    wanted = [(asked[purpose], f"photo-{purpose}") for purpose in ctx.clinic.consent.photographs]
    return [_choice(ctx, *each) for each in (*wanted, (N_("No, I do not want photos."), "photo-none"))]


def agreement(ctx: Context) -> list[Node]:
    choices = (
        (N_("I have read this form, or it was read to me."), "read"),
        (N_("I could ask questions, and I understood the answers."), "questions"),
        (N_("I know what may go wrong, and how often as far as it is known."), "risks"),
        (N_("I know my other choices, and that I can choose no treatment."), "options"),
        (ctx.library.field.sentences["no_promise"], "no-promise"),
        (N_("I know who will do it. If that must change, you will ask me first."), "who"),
        (N_("I know I can change my mind at any time."), "change-mind"),
        (
            N_("I know you will do more than this form says only to save my life or stop grave harm."),
            "only-if",
        ),
        *_when(bool(ctx.matches.anaesthetics), N_("I could ask how the area is numbed."), "numbing"),
        (N_("I agree to the treatment set out in this form."), "agree"),
        *_when(
            bool(ctx.plan.may_become_necessary),
            N_("I agree to the extra steps in this form, if they are needed on the day."),
            "agree-extra",
        ),
        (N_("I want more time to think."), "more-time"),
        (N_("I want to ask another clinician first (a second opinion)."), "second-opinion"),
        (N_("I do not agree to the treatment."), "refuse"),
    )
    limits = Field(ctx.say("What I do not want to be done"), tag="not-wanted")
    return [*(_choice(ctx, message, tag) for message, tag in choices), Fields("", (limits,))]


def _when(condition: bool, message: str, tag: str) -> tuple[tuple[str, str], ...]:
    return ((message, tag),) if condition else ()


def signed(ctx: Context) -> tuple[Field, ...]:
    """The lines of one signature."""
    return (
        Field(ctx.say("Signature"), "signature"),
        Field(ctx.say("Date"), "date"),
        Field(ctx.say("Time"), "time"),
    )


def signatures(ctx: Context) -> list[Node]:
    stated = ctx.say(
        "I have explained the treatment, what it may gain, what can go wrong and the other "
        "choices, with no treatment among them. I have given a copy of this form."
    )
    born = Field(ctx.say("Date of birth"), "date", tag="born")
    does = Field(ctx.say("I will do it, or be there as it is done (yes or no)"), tag="does-it")
    given = Field(ctx.say("Leaflets given with this form"), tag="leaflets")
    return [
        Fields(ctx.say("Patient"), (_name(ctx), born, *signed(ctx)), tag="patient"),
        _choice(ctx, N_("I have a copy of this form to keep."), "copy"),
        _choice(ctx, N_("I do not want a copy."), "no-copy"),
        Fields(
            ctx.say("Clinician who held this talk"),
            (name_and_role(ctx), does, given, *signed(ctx)),
            (Run(stated),),
            tag="clinician",
        ),
    ]


def witness(ctx: Context) -> list[Node]:
    """For a patient who agrees and cannot sign."""
    stated = ctx.say("The patient agreed in my presence and could not sign.")
    lines = (_name(ctx), *signed(ctx))
    return [*_whose(ctx), Fields(ctx.say("Witness"), lines, (Run(stated),), tag="witness")]


def parent(ctx: Context) -> list[Node]:
    """For one under age; nothing for anybody else."""
    if UNDER_AGE not in ctx.plan.factors:
        return []
    agreed = ctx.say("I have read this form and agree to the treatment of my child.")
    lines = (_name(ctx), *signed(ctx))
    return [*_whose(ctx), Fields(ctx.say("Parent or guardian"), lines, (Run(agreed),), tag="parent")]


def _whose(ctx: Context) -> list[Node]:
    """Whose slip it is, and of which treatment: a slip lies in the notes without the form."""
    born = Field(ctx.say("Date of birth"), "date", tag="born")
    planned = [ctx.title_text(t) for t in ctx.techniques(ctx.matches.techniques)]
    pairs = (
        (ctx.say("Our reference"), ctx.plan.reference),
        (ctx.say("What we plan"), ctx.words.series(planned)),
    )
    return [Facts(pairs), Fields(ctx.say("Patient"), (_name(ctx), born), tag="whose")]


def confirm(ctx: Context) -> list[Node]:
    """A second signature on the day: consent may have been given weeks before."""
    stated = ctx.say("I still want this treatment. I have told you what has changed since I signed.")
    return [Fields(ctx.say("Patient"), (_name(ctx), *signed(ctx)), (Run(stated),), tag="confirm")]


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
