"""What the clinician sees before the talk, on the first pages of the record: sorted by weight, grouped, with
the outcomes named. Every note in full, with its counts and sources, stands in the annex (`record_notes`)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from consentpack.assemble.context import Context, cell
from consentpack.assemble.inputs import Judgement
from consentpack.assemble.record import ending_notes, longer_waits, not_listed, unread_figures
from consentpack.assemble.record_alerts import lies_worse
from consentpack.assemble.record_matter import FEWEST, MOST, figures_that_matter
from consentpack.assemble.record_plan import LABELLED, labelled, plan_lines
from consentpack.model import Finding, RateAnswer, Score
from consentpack.tree import Cell, Items, Node, Paragraph, Run, Section, Table
from consentpack.wording import percent

ROOM = 48
"""Lines of plan, alerts and figures with which the pages before the annex are still two: tried on random
plans, see the tests."""
LINE, BULLET = 78, 74
"""Characters of 12 pt on one line beside a label, and of a point of a list there; rather too few than too
many."""
ROW = 0.25
DONE = 3
"""Lines that the room around a row takes, and that what was done takes more once it is known."""
FEW = (8, 5, 3, 2, 0)
"""Names that a group still says where there is no room for all of them, and then where there is less."""
SLIPS: Mapping[str, str] = {
    "interpreter": "interpreter",
    "witness": "witness",
    "parent": "parent or guardian",
    "withdrawal": "withdrawal",
}
"""The part of a slip -> its name, for the clinic."""


@dataclass(frozen=True)
class Group:
    """One row of the table: what is alike stands in one place."""

    label: str
    lines: tuple[str, ...] = ()
    """Said whole, each on its own line."""
    short: tuple[str, ...] = ()
    """The same lines in fewer words."""
    names: tuple[str, ...] = ()
    """Named one after the other; the last of them in the annex where there is no room."""
    before: str = ""
    """What is said of the names, and then after them."""
    after: str = ""

    def said(self, most: int | None = None) -> list[str]:
        """The lines of the row, with at most so many names."""
        enough = most is None or len(self.names) <= most + 1  # "and 1 more" takes as much room as a name
        shown = self.names if enough else self.names[:most]
        more = len(self.names) - len(shown)
        others = [f"and {more} more, in the annex" if shown else f"{more} in the annex"] if more else []
        named = "; ".join((*shown, *others))
        return [*self.lines, *([f"{self.before}{named}.{self.after}"] if named else [])]

    def shortest(self) -> list[str]:
        """With the fewest names, its lines run together and without the facts behind them."""
        together = " • ".join(self.short or self.lines)
        return [*filter(None, [together]), *self.said(FEW[-1])[len(self.lines) :]]


def record_alerts(ctx: Context, judged: Judgement) -> list[Node]:
    """One row for each kind of alert, the weightiest first."""
    groups = groups_of(ctx, judged)
    found = zip(groups, fitted(groups, room_for_alerts(ctx)), strict=True)
    rows = tuple((labelled(group.label), _cell(lines)) for group, lines in found)
    columns = (ctx.say("Weight"), ctx.say("What to know; in full in the annex"))
    said = ctx.say("What to know before the talk, the weightiest first.")
    return [Table(columns, rows, LABELLED, said)]


def _cell(lines: Sequence[str]) -> Cell:
    """What a row says: points of a list where it says more than one thing."""
    if len(lines) == 1:
        return cell(*lines)
    return Cell((Items(tuple(Paragraph((Run(line),)) for line in lines)),))


def record_matter(ctx: Context, judged: Judgement) -> list[Node]:
    """The figures that matter most: as many as there is room for below the alerts."""
    most = room_for_alerts(ctx)
    left = int(most - _height_of(fitted(groups_of(ctx, judged), most)))
    return figures_that_matter(ctx, most=min(MOST, FEWEST + max(0, left)))


def groups_of(ctx: Context, judged: Judgement) -> list[Group]:
    """All there is to know before the talk, the weightiest first."""
    made = (each for part in (_suitability, _figures, _plan) for each in part(ctx))
    return [*(each for each in made if each.lines or each.names), *_papers(ctx, judged)]


def room_for_alerts(ctx: Context) -> float:
    """Lines that the plan and the fewest figures leave."""
    taken = _height_of([lines for _, lines in plan_lines(ctx)]) + FEWEST * (1 + ROW)
    return ROOM - taken - (DONE if ctx.plan.done else 0)


def fitted(groups: Sequence[Group], most: float) -> list[list[str]]:
    """The lines of each group. Where all of them are too many for two pages, names give way from the least
    weighty group upwards, then the facts behind a finding; what a finding says never does."""
    found = [each.said() for each in groups]
    for few in FEW:
        for at in reversed(range(len(groups))):
            if _height_of(found) <= most:
                return found
            found[at] = groups[at].said(few)
    return found if _height_of(found) <= most else [each.shortest() for each in groups]


def _height_of(rows: Sequence[Sequence[str]]) -> float:
    """About how many lines some rows take."""
    return sum(
        ROW + sum(1 + len(line) // (LINE if len(lines) == 1 else BULLET) for line in lines) for lines in rows
    )


# --- may it be done? ----------------------------------------------------------------------------


def _suitability(ctx: Context) -> Iterator[Group]:
    """What the rules say against the plan, with who decided; then what nobody asked about."""
    found = ctx.inputs.findings
    strongest = [each for each in found if each.rule.strength == "not-together"]
    talk = [each for each in found if each.rule.strength == "talk-first"]
    notes = [each for each in found if each.rule.strength == "note"]
    for label, some in ((ctx.say("Not together"), strongest), (ctx.say("Talk first"), talk)):
        yield Group(label, tuple(map(_decided, some)), tuple(_by_decision(some)))
    unasked = tuple(factor.title for factor in ctx.inputs.not_asked)
    yield Group(ctx.say("Not asked"), names=unasked)
    yield Group(ctx.say("Notes"), names=tuple(each.rule.what.rstrip(".") for each in notes))


def _decided(each: Finding) -> str:
    """A finding with the facts that made it, and who does it all the same."""
    return f"{each.rule.what} ({each.because}){_who(each)}"


def _by_decision(some: Iterable[Finding]) -> Iterator[str]:
    """What some findings say, and who does it all the same once for all that one reason answers."""
    groups: dict[str, list[str]] = {}
    for each in some:
        groups.setdefault(_who(each), []).append(each.rule.what)
    yield from (f"{' • '.join(said)}{who}" for who, said in groups.items())


def _who(each: Finding) -> str:
    return f" {each.by} goes on all the same: {each.reason}" if each.by else ""


# --- how sound are the figures? -----------------------------------------------------------------


def _figures(ctx: Context) -> Iterator[Group]:
    said: tuple[tuple[str, Callable[[Context, RateAnswer], str], str], ...] = (
        (ctx.say("Worse"), _worse, ""),
        (ctx.say("Perhaps"), _perhaps_worse, ctx.say("Methods disagree: ")),
        (ctx.say("Counts"), _counts, ctx.say("The patient reads a count: ")),
        (ctx.say("Lost"), _lost, ctx.say("Not followed up: ")),
    )
    for label, name, before in said:
        names = tuple(n for answer in ctx.rates.values() if (n := name(ctx, answer)))
        yield Group(label, names=names, before=before)
    outcomes = dict.fromkeys(_title(ctx, rate.outcome) for rate in unread_figures(ctx))
    before = ctx.say("Printed figures not shown, as nobody has read them in the source: ")
    yield Group(ctx.say("Unread"), names=tuple(outcomes), before=before)
    left_out = dict.fromkeys(note for answer in ctx.rates.values() for note in answer.without)
    yield Group(ctx.say("Left out"), tuple(f"The closest figures are {note}." for note in left_out))


def _title(ctx: Context, outcome: str) -> str:
    return ctx.library.outcome(outcome).title


def _worse(ctx: Context, answer: RateAnswer) -> str:
    """An outcome whose own figure an exact test finds worse, with both counts; '' for the others."""
    title = _title(ctx, answer.outcome)
    worse = [each for each in answer.worse if each.found]
    found = next((each for each in worse if each.printed), next(iter(worse), None))
    if found:
        than = "published" if found.than == "published" else "of the wider group"
        own, others = f"{found.counts.events} of {found.counts.watched}", found.others
        told = "told" if found.printed else "not told"
        return f"{title}, {own} against {others[0]} of {others[1]} {than} (patient {told})"
    rate, beside = answer.rate, answer.beside
    if rate and beside and answer.verdict in ("higher", "lower") and lies_worse(ctx, rate, beside):
        return f"{title}, {percent(rate)} against {percent(beside)} published"
    return ""


def _perhaps_worse(ctx: Context, answer: RateAnswer) -> str:
    rate, beside = answer.rate, answer.beside
    if rate and beside and answer.verdict == "mixed" and lies_worse(ctx, rate, beside):
        return f"{_title(ctx, answer.outcome)}, {percent(rate)} against {percent(beside)} published"
    return ""


def _counts(ctx: Context, answer: RateAnswer) -> str:
    seen = answer.seen
    return f"{_title(ctx, answer.outcome)}, {seen.events} of {seen.n}" if seen else ""


def _lost(ctx: Context, answer: RateAnswer) -> str:
    """An outcome of whose due treatments so many were lost that the annex warns of it."""
    counts = answer.rate.counts if answer.rate else None
    if not counts or not answer.warnings:
        return ""
    return f"{_title(ctx, answer.outcome)} {counts.lost / counts.due:.0%}"


# --- what else the plan asks for ----------------------------------------------------------------


def _plan(ctx: Context) -> Iterator[Group]:
    kind = ctx.plan.indication
    yield Group(
        ctx.say("Say why"),
        names=tuple(technique.title for technique in not_listed(ctx)),
        before=ctx.say("Not listed for the kind “{kind}”: ", kind=kind),
        after=ctx.say(" Say why you plan it."),
    )
    waits = tuple(_wait(ctx, setting, longest) for setting, longest, _ in longer_waits(ctx))
    yield Group(ctx.say("Waits"), names=waits, before=ctx.say("Longer than usual: "))


def _wait(ctx: Context, setting: str, longest: str) -> str:
    found = ctx.library.settings[longest]
    value = ctx.clinic.care.get(found.name, found.value)
    return f"{setting.replace('_', ' ')} {ctx.words.span(value, found.unit)}"


# --- the papers ---------------------------------------------------------------------------------


def _papers(ctx: Context, judged: Judgement) -> Iterator[Group]:
    """Whether the papers are as they should be, which slips were made, and why patients may not have them."""
    lines = [*targets_met(ctx, judged.scores), *_slips(ctx, judged), *ending_notes(ctx, judged)]
    if lines:
        yield Group(ctx.say("Papers"), tuple(lines))
    if judged.draft:
        why = tuple(each.rstrip(".") for each in judged.draft)
        yield Group(ctx.say("Draft"), names=why, before=ctx.say("Not approved for patients: "))


def targets_met(ctx: Context, scores: Sequence[Score]) -> Iterator[str]:
    """One line for all documents: which of them miss their reading target."""
    if not scores:
        return
    over = [each for each in scores if each.over]
    unmeasured = [each.kind for each in scores if each.target is None]
    if over:
        named = ", ".join(f"{each.kind} ({_grade(each)})" for each in over)
        yield ctx.say("OVER the reading target: {named}.", named=named)
    elif len(unmeasured) < len(scores):
        met = [each.kind for each in scores if each.target is not None]
        yield ctx.say("Reading targets are met: {named}.", named=", ".join(met))
    if unmeasured:
        yield ctx.say("No measure for this language: {named}.", named=", ".join(unmeasured))


def _grade(score: Score) -> str:
    limit = f"{score.target.limit:g}" if score.target else "–"
    return f"{score.grade:.1f}, target {limit}" if score.grade is not None else f"target {limit}"


def _slips(ctx: Context, judged: Judgement) -> Iterator[str]:
    """Which slips are in the pack: what was not made cannot have been offered."""
    sections: list[Section] = [s for each in judged.documents if each.kind == "slips" for s in each.sections]
    made = [name for part, name in SLIPS.items() if any(part in section.parts for section in sections)]
    if made:
        yield ctx.say("Slips made: {named}.", named=", ".join(made))
    elif judged.documents:
        yield ctx.say("No slips were made.")
