"""What a patient keeps at home: when one may do what again, and the diary for the next visits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from consentpack.assemble.context import Context, cell
from consentpack.library.labels import ANSWERS
from consentpack.model import Outcome, Risk
from consentpack.tree import Cell, Facts, Heading, Items, Node, Paragraph, Run, Runs, Table

QUESTION = "In your diary"
FIRST_DAYS = (1, 3, 7, 14)
LATER_MONTHS = (1, 3, 6)
DAYS_A_MONTH = 30
ALSO = "also {}: the clinician tells them apart"
DIARY_DAYS = (*FIRST_DAYS, *(month * DAYS_A_MONTH for month in LATER_MONTHS))
"""Days after the treatment on which the diary asks; of the later ones each stands for its month."""


@dataclass(frozen=True)
class Asked:
    """One row of the diary: the outcome whose question it is, and those that patients cannot tell from it."""

    main: Outcome
    also: tuple[Outcome, ...] = ()

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        return (self.main, *self.also)

    @property
    def days(self) -> tuple[int, ...]:
        """Every day on which one of them may be seen: an earlier or later one is not to be missed."""
        return tuple(sorted({day for outcome in self.outcomes for day in asked_on(outcome)}))


def when_you_can(ctx: Context) -> list[Node]:
    """One row for each thing people ask about: what they want to do, and when they can."""
    rows: list[tuple[Cell, ...]] = []
    for match in ctx.matches.aftercare:
        for body in ctx.section(ctx.library.aftercare[match.id], ANSWERS):
            rows += [_answer(item) for item in body.items] if isinstance(body, Items) else []
    columns = (ctx.say("If you want to"), ctx.say("You can do it"))
    summary = ctx.say("Things people want to do after treatment, and when they can.")
    return [Table(columns, tuple(rows), (36, 64), summary)] if rows else []


def _answer(item: Paragraph) -> tuple[Cell, ...]:
    activity, *rest = item.runs
    if not rest:  # an older translation without the mark between the two: all of it is read, and marked stale
        return cell(Paragraph((activity,), item.source), head=True), cell()
    first, *others = rest
    answer: Runs = (Run(first.text.lstrip(": "), first.strong, first.href), *others)
    return cell(Paragraph((activity,), item.source), head=True), cell(Paragraph(answer, item.source))


def diary(ctx: Context) -> list[Node]:
    """Yes or no, day by day, for everything the audit counts that a patient can see at home.

    Both answers are printed, to be circled: a blank would not tell 'no' from 'did not look'.
    """
    asked = rows_asked(ctx.library.outcome(match.id) for match in ctx.matches.diary)
    days = {day: ctx.say("Day {number}", number=day) for day in FIRST_DAYS}
    months = {
        month * DAYS_A_MONTH: ctx.words.catalogue.phrases("{number} month", "{number} months", month)
        for month in LATER_MONTHS
    }
    lead = ctx.para("Circle Y for yes or N for no. If you did not look, leave it blank.")
    tables = [
        *_table(ctx, asked, days, ctx.say("The first two weeks")),
        *_table(ctx, asked, months, ctx.say("Later on")),
    ]
    return [lead, *tables] if tables else []


def rows_asked(outcomes: Iterable[Outcome]) -> list[Asked]:
    """The rows of the diary. What patients read of in the row of another outcome is asked there too."""
    known = [outcome for outcome in outcomes if outcome.sections.get(QUESTION)]
    ids = {outcome.id for outcome in known}
    apart = [outcome for outcome in known if _told_with(outcome) not in ids]
    return [Asked(main, tuple(each for each in known if _told_with(each) == main.id)) for main in apart]


def _told_with(outcome: Outcome) -> str:
    return outcome.told_with if isinstance(outcome, Risk) else ""


def asked_on(outcome: Outcome) -> tuple[int, ...]:
    """The days of the diary on which an outcome is asked about: while it may start, and when it is judged.

    Asked at no other time, a row of 'no' says that it was not seen on those days, and nothing of others.
    An outcome that does not say when it starts is asked about as long as it must be watched.
    """
    first, last = outcome.starts if any(outcome.starts) else (0, outcome.watch_days)
    judged = next((day for day in DIARY_DAYS if day >= outcome.watch_days), DIARY_DAYS[-1])
    starting = [day for day in DIARY_DAYS if first <= day <= last]
    # what starts between two columns is seen at the next one
    next_one = next((day for day in DIARY_DAYS if day >= first), judged)
    return tuple(sorted({*starting, next_one, judged}))


def _is_serious(outcome: Outcome) -> bool:
    return isinstance(outcome, Risk) and outcome.group == "serious"


def _table(ctx: Context, asked: list[Asked], times: Mapping[int, str], title: str) -> list[Node]:
    """The questions of some days; what is not asked on any of them has no row here."""
    asked = [row for row in asked if set(row.days) & set(times)]
    if not asked:
        return []
    share = 44 // len(times)
    widths = (100 - share * len(times), *(share for _ in times))
    rows = tuple(
        (_question(ctx, each), *(_yes_or_no(ctx) if day in each.days else cell("–") for day in times))
        for each in asked
    )
    summary = ctx.say("Your diary: {title}.", title=title)
    heading = Heading((Run(title),), 3)
    return [heading, Table((ctx.say("Question"), *times.values()), rows, widths, summary, grid=True)]


def _question(ctx: Context, asked: Asked) -> Cell:
    serious = any(map(_is_serious, asked.outcomes))
    warned = [ctx.para("If yes, look at your aftercare sheet now.", strong=True)] if serious else []
    return cell(*ctx.lines(asked.main, QUESTION), *warned, head=True)


def _yes_or_no(ctx: Context) -> Cell:
    letters = ctx.say("{yes} / {no}", yes=ctx.say("Y"), no=ctx.say("N"))
    return cell(Paragraph((Run(letters),), scored=False))


def record_diary(ctx: Context) -> list[Node]:
    """Which line of the diary is which outcome of the register, for whoever types it in."""
    rows = rows_asked(ctx.library.outcome(match.id) for match in ctx.matches.diary)
    pairs = tuple((row.main.sections[QUESTION][0].items[0].text, _recorded(row)) for row in rows)
    return [Facts(pairs)] if pairs else []


def _recorded(row: Asked) -> str:
    asked = f"{row.main.id} (asked on day {', '.join(map(str, row.days))})"
    return "; ".join((asked, *(ALSO.format(each.id) for each in row.also)))
