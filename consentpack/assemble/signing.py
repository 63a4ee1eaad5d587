"""The parts that carry legal weight: agreement, signatures, photographs, interpreter, withdrawal.
They are built here as typed nodes, not written in Markdown, so that none can lose a line by an
edit."""

from __future__ import annotations

from consentpack.assemble.context import Context
from consentpack.tree import Choice, Facts, Field, Fields, Node, Paragraph, Run


def _choice(ctx: Context, message: str, tag: str) -> Choice:
    return Choice((Run(ctx.say(message)),), tag=tag)


def photographs(ctx: Context) -> list[Node]:
    """One choice per purpose, none made in advance (GMC, Making and using
    recordings of patients, 2011: each purpose by itself; from memory)."""
    asked = {
        "notes": "Yes, you may take photos for my notes.",
        "teaching": "Yes, you may show my photos to teach staff.",
        "publication": "Yes, you may use my photos in a talk or a journal.",
        "publicity": "Yes, you may show my photos on your website or in an advert.",
    }
    wanted = [(asked[purpose], f"photo-{purpose}") for purpose in ctx.clinic.consent.photographs]
    return [_choice(ctx, *each) for each in (*wanted, ("No, I do not want photos.", "photo-none"))]


def agreement(ctx: Context) -> list[Node]:
    choices = (
        ("I have read this form, or it was read to me.", "read"),
        ("I could ask questions, and I understood the answers.", "questions"),
        ("I know what may go wrong, and how often as far as it is known.", "risks"),
        ("I know my other choices, and that I can choose no treatment.", "options"),
        ("I know that no one can promise how my skin will look.", "no-promise"),
        ("I know I can change my mind at any time.", "change-mind"),
        ("I agree to the treatment set out in this form.", "agree"),
        ("I do not agree to the treatment.", "refuse"),
    )
    found: list[Node] = [_choice(ctx, message, tag) for message, tag in choices]
    if ctx.plan.may_become_necessary:
        message = "I agree to the extra steps in this form, if they are needed on the day."
        found.insert(len(found) - 1, _choice(ctx, message, "agree-extra"))
    limits = Field(ctx.say("What I do not want to be done"))
    found.append(Fields("", (limits,)))
    return found


def _signed(ctx: Context) -> tuple[Field, ...]:
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
    patient = (Field(ctx.say("Name")), *_signed(ctx))
    clinician = (Field(ctx.say("Name and role")), *_signed(ctx))
    return [
        Fields(ctx.say("Patient"), patient),
        Fields(ctx.say("Clinician who held this talk"), clinician, (Run(stated),)),
    ]


def interpreter(ctx: Context) -> list[Node]:
    found: list[Node] = []
    if ctx.plan.interpreter_language:
        found.append(Facts(((ctx.say("Language"), ctx.plan.interpreter_language),)))
    stated = ctx.say(
        "I have put what was said into the patient’s language as well as I can. I believe the "
        "patient understood it."
    )
    fields = (
        Field(ctx.say("Language")),
        Field(ctx.say("In person, by phone or by video")),
        Field(ctx.say("Name or number of the interpreter")),
        *_signed(ctx),
    )
    return [*found, Fields(ctx.say("Interpreter"), fields, (Run(stated),))]


def withdrawal(ctx: Context) -> list[Node]:
    fields = (Field(ctx.say("Name")), *_signed(ctx))
    stated = ctx.say("I have changed my mind. I do not want this treatment.")
    return [Fields(ctx.say("Patient"), fields, (Run(stated),))]


def record_signatures(ctx: Context) -> list[Node]:
    fields = (Field(ctx.say("Name and role")), *_signed(ctx))
    note = Paragraph(
        (Run(ctx.say("A signature is evidence of the talk. It does not replace it.")),), scored=False
    )
    return [note, Fields(ctx.say("Clinician who held this talk"), fields)]
