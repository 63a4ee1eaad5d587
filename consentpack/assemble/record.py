"""The parts of the clinician's record: what an auditor is shown later."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.approvals import ending
from consentpack.assemble.context import Context, cell
from consentpack.assemble.inputs import Judgement
from consentpack.assemble.record_alerts import figure_notes
from consentpack.assemble.signing import name_and_role, signed
from consentpack.model import PublishedRate, Technique
from consentpack.tree import (
    Cell,
    Choice,
    Facts,
    Field,
    Fields,
    Items,
    Node,
    Paragraph,
    Run,
    Table,
)

MODULES_IN_ROW = 25


def record_techniques(ctx: Context) -> list[Node]:
    columns = (ctx.say("Technique"), ctx.say("Standing"), ctx.say("Why it is here"))
    matches = (
        *ctx.matches.techniques,
        *ctx.matches.anaesthetics,
        *ctx.matches.may_become_necessary,
        *ctx.matches.established,
    )
    rows = []
    for match in matches:
        technique = ctx.library.techniques[match.id]
        name = cell(f"{technique.title} ({technique.id})", head=True)
        rows.append((name, cell(technique.standing), cell(match.why)))
    return [Table(columns, tuple(rows), (50, 20, 30), ctx.say("Techniques, standing and reason."))]


def record_notes(ctx: Context, judged: Judgement) -> list[Node]:
    """What the clinician should see before the talk; never empty without saying so."""
    notes = [
        *_suitability_notes(ctx),
        *figure_notes(ctx),
        *_warning_notes(ctx),
        *_memory_notes(ctx),
    ]
    notes += [*indication_notes(ctx), *_wait_notes(ctx), *ending_notes(ctx, judged)]
    notes += [ctx.say("Not approved for patients: {why}", why=f"{why.rstrip('.')}.") for why in judged.draft]
    if ctx.clinic.invented:
        notes.append(ctx.say("Clinic, people and audit are invented. The figures mean nothing."))
    if not notes:
        return [ctx.para("Nothing to note.")]
    return [Items(tuple(Paragraph((Run(note),)) for note in notes))]


def _suitability_notes(ctx: Context) -> Iterable[str]:
    """What the rules say of this plan, the strongest first, and what nobody has asked about."""
    said = {"not-together": "NOT TOGETHER", "talk-first": "TALK FIRST", "note": "Note"}
    for each in ctx.inputs.findings:
        rule = each.rule
        yield f"{said[rule.strength]}: {rule.what} ({each.because}) {rule.why}"
        if each.by:
            yield f"{each.by} goes on all the same: {each.reason}"
    if ctx.inputs.not_asked:
        yield "Not asked: " + "; ".join(factor.title for factor in ctx.inputs.not_asked) + "."


def indication_notes(ctx: Context) -> Iterable[str]:
    """Techniques that are planned for a kind of condition they are not listed for."""
    said = "{technique} is not listed for the kind “{kind}”. Say why you plan it."
    for technique in not_listed(ctx):
        yield ctx.say(said, technique=technique.title, kind=ctx.plan.indication)


def not_listed(ctx: Context) -> Iterable[Technique]:
    """Planned techniques that are for other kinds of condition than the plan's."""
    kind = ctx.plan.indication
    for technique in ctx.techniques((*ctx.matches.techniques, *ctx.matches.may_become_necessary)):
        if kind and technique.indications and kind not in technique.indications:
            yield technique


def ending_notes(ctx: Context, judged: Judgement) -> Iterable[str]:
    """Approvals that will have run out soon after the plan's day."""
    soon = ending(judged.states.values(), today=ctx.plan.prepared)
    if soon:
        said = "{number} approvals end soon; the first is {module}, on {day}."
        first = soon[0]
        assert first.until is not None
        yield ctx.say(said, number=len(soon), module=first.module, day=ctx.words.day(first.until))


def _wait_notes(ctx: Context) -> Iterable[str]:
    """Times of the aftercare sheet that are longer than the usual, and for whose sake."""
    said = "The time for “{setting}” is the longer one, “{longest}”, because of {technique}."
    for setting, longest, because in longer_waits(ctx):
        yield ctx.say(said, setting=setting, longest=longest, technique=because)


def longer_waits(ctx: Context) -> Iterable[tuple[str, str, str]]:
    """The usual time, the longer one in its place, and why: a technique's title or a rule's reason."""
    for wait in ctx.matches.waits:
        technique = ctx.library.techniques.get(wait.because)
        title = technique.title if technique else ctx.library.waits[wait.because].why.rstrip(".")
        yield wait.setting, wait.longest, title


def _warning_notes(ctx: Context) -> Iterable[str]:
    left_out = dict.fromkeys(note for answer in ctx.rates.values() for note in answer.without)
    yield from (f"The closest figures are {note}." for note in left_out)
    for answer in ctx.rates.values():
        for warning in answer.warnings:
            yield f"{ctx.library.outcome(answer.outcome).title}: {warning}."


def _memory_notes(ctx: Context) -> Iterable[str]:
    """Printed figures that are not shown to patients because nobody has read them in the source."""
    for rate in unread_figures(ctx):
        yield ctx.say(
            "{outcome}: {source} gives {events} of {n} {unit} ({seen}); not shown to the "
            "patient until somebody has read it in the source.",
            outcome=ctx.library.outcome(rate.outcome).title,
            source=rate.source,
            events=rate.events,
            n=rate.n,
            unit=rate.unit,
            seen="from memory" if rate.seen == "memory" else "read second hand",
        )


def unread_figures(ctx: Context) -> Iterable[PublishedRate]:
    """The figures of studies on this plan that nobody has read in the source itself."""
    for rate in ctx.library.published:
        unread = rate.seen != "abstract" and rate.events is not None and rate.n
        if unread and rate.outcome in ctx.rates and rate.technique in ctx.plan.planned:
            yield rate


def record_factors(ctx: Context) -> list[Node]:
    found: list[Node] = []
    for match in ctx.matches.factors:
        factor = ctx.library.factors[match.id]
        found.append(ctx.heading(factor))
        found += ctx.section(factor, "For the clinician", scored=False)
    return found


def record_modules(ctx: Context, judged: Judgement) -> list[Node]:
    """Modules by state; an approval names who gave it."""
    columns = (ctx.say("State"), ctx.say("Modules, with their versions"))
    groups: dict[str, list[str]] = {}
    for state in judged.states.values():
        by = state.approval
        label = f"{state.state}: {by.by}, {by.role}, {by.day.isoformat()}" if by else state.state
        groups.setdefault(label, []).append(f"{state.module} ({state.version})")
    rows = tuple(
        (cell(label, head=True), cell(", ".join(some)))
        for label, modules in sorted(groups.items())
        for some in batched(sorted(modules))
    )
    said = ctx.say("Modules used, with version and approval.")
    return [Table(columns, rows, (25, 75), said)]


def batched(modules: list[str]) -> Iterable[list[str]]:
    """So many in one row that it never runs over a page, in large print either."""
    return (modules[at : at + MODULES_IN_ROW] for at in range(0, len(modules), MODULES_IN_ROW))


def record_done(ctx: Context) -> list[Node]:
    plan, done = ctx.plan, ctx.plan.done
    if done is None:
        fields = (
            Field(ctx.say("Date"), "date"),
            Field(ctx.say("Techniques used"), tag="techniques"),
            _materials(ctx),
            Field(ctx.say("What differed, and why"), tag="differed"),
        )
        return [Fields("", fields, tag="done")]
    planned, made = set(plan.planned), set(done.techniques)
    agreed = planned | set(plan.may_become_necessary)
    pairs = [(ctx.say("Done on"), ctx.words.day(done.day))]
    listed = (
        (ctx.say("Done as planned"), made & planned),
        (ctx.say("Planned and not done"), planned - made),
        (ctx.say("Needed, as agreed"), (made - planned) & agreed),
        (ctx.say("Done, not agreed"), made - agreed),
    )
    pairs += [(label, ", ".join(sorted(ids)) or ctx.say("none")) for label, ids in listed]
    return [Facts(tuple(pairs)), Fields("", (_materials(ctx),), tag="done")]


def _materials(ctx: Context) -> Field:
    return Field(ctx.say("Materials: name, maker, size, lot"), tag="materials")


def record_checklist(ctx: Context) -> list[Node]:
    """What was talked about, to tick. Elements: reference standards, informed-consent content."""
    treatment = (
        ("What is done and why; the day itself", "treatment"),
        ("The gain, and that it may not work", "gain"),
        ("Harms, each serious one, the figures", "harm"),
        ("Other choices, no treatment too", "options"),
        ("The anaesthetic and its risks", "anaesthetic"),
        ("Newer as newer; own experience", "newer"),
        ("What may be added; what is not wanted", "extra"),
        ("Aftercare, signs, whom to ring", "aftercare"),
    )
    person = (
        ("What matters to the patient; hopes", "hopes"),
        ("The patient’s own circumstances", "factors"),
        ("Said back in own words (teach-back)", "teach-back"),
        ("Capacity, free choice: sure, or assessed", "capacity"),
        ("Mood, self-image, pressure: no concern, or help offered", "wellbeing"),
        ("Time to think enough; a copy given", "time"),
        ("Law and codes on waiting followed", "law"),
    )
    columns = (ctx.say("The treatment"), ctx.say("The person and the law"))
    ticks = tuple(_ticks(ctx, each) for each in (treatment, person))
    said = ctx.say("What was talked about, to tick.")
    asked = Field(ctx.say("Questions asked, and answers"), tag="questions")
    notes = Fields("", (asked, Field(ctx.say("Notes"), tag="notes")), tag="talk")
    return [Table(columns, (ticks,), (50, 50), said), notes]


def _ticks(ctx: Context, messages: Iterable[tuple[str, str]]) -> Cell:
    return Cell(tuple(Choice((Run(ctx.say(words)),), tag=tag) for words, tag in messages))


def record_signatures(ctx: Context) -> list[Node]:
    note = Paragraph(
        (Run(ctx.say("A signature is evidence of the talk. It does not replace it.")),), scored=False
    )
    named = Fields("", (name_and_role(ctx),), tag="clinician-named")
    return [note, named, Fields("", signed(ctx), tag="clinician", in_row=True)]
