"""`consentpack talk-back`: what people could say of what they were told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import (
    by_option,
    clinic_option,
    counted,
    guarded,
    json_option,
    opened,
    print_json,
    today_option,
)
from consentpack.cli.kept import kept

if TYPE_CHECKING:
    from consentpack.pipeline.talk_backs import Report
    from consentpack.rates.explaining import Changed, Drift, Understood

_DAY = click.DateTime(["%Y-%m-%d"])
GROUPED = ("question", "module", "language", "clinician")


@click.group("talk-back")
def talk_back() -> None:
    """Enter what people could say back, and count how well we explain.

    Example: consentpack talk-back mark HS-P-101 what=said harm=again --clinician "Dr A. Hazel"
    """


@talk_back.command("mark")
@click.argument("plan")
@click.argument("marks", nargs=-1, metavar="QUESTION=said|again|not-yet …")
@click.option("--clinician", required=True, help="Who held the talk.")
@click.option("--on", "day", type=_DAY, help="The day of the talk; today without it.")
@by_option
@clinic_option
@guarded
def mark(
    plan: str,
    marks: tuple[str, ...],
    clinician: str,
    day: datetime | None,
    by: str,
    clinic_dir: Path | None,
) -> None:
    """Enter the marks of the paper “Did we explain it well?” of a PLAN, or of the code on a given paper.

    Questions: what, gain, harm, serious, choice, tonight, ring. Marks: said (at once), again (after we
    explained again), not-yet. Leave out what was not asked.

    Example: consentpack talk-back mark HS-P-101 what=said harm=again ring=said --clinician "Dr A. Hazel"
    """
    from consentpack import pipeline  # noqa: PLC0415

    pairs = [word.partition("=") for word in marks]
    if any(not between for _, between, _ in pairs):
        raise click.UsageError("Write each mark as QUESTION=said, QUESTION=again or QUESTION=not-yet.")
    now = datetime.now()
    typed = {question: word for question, _, word in pairs}
    if len(typed) < len(pairs):
        raise click.UsageError("A question is there twice.")
    marking = pipeline.Marking(typed, clinician, (day or now).date(), now, by)
    entered = pipeline.mark_talk(opened(clinic_dir), plan, marking)
    with kept("it was entered"):
        what = counted(len(entered.questions), "mark", "marks")
        click.echo(f"{entered.reference}: {what} for {entered.papers} entered as number {entered.number}.")


@talk_back.command("undo")
@click.argument("reference")
@by_option
@clinic_option
@guarded
def undo(reference: str, by: str, clinic_dir: Path | None) -> None:
    """Take back all marks of one patient, by the clinic's own REFERENCE: they are counted no more.

    A single talk: `consentpack audit undo --number`, as `audit history` numbers it.

    Example: consentpack talk-back undo HS-P-101
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.take_back_talks(opened(clinic_dir), reference, now=datetime.now(), by=by)
    with kept("it was taken back"):
        numbers = ", ".join(map(str, found))
        click.echo(f"{reference}: {counted(len(found), 'talk', 'talks')} taken back (number {numbers}).")


@talk_back.command("report")
@click.option("--by", "grouped", type=click.Choice(GROUPED), help="Only these groups; all of them without.")
@today_option
@clinic_option
@json_option
@guarded
def report(grouped: str | None, today: datetime, clinic_dir: Path | None, as_json: bool) -> None:
    """Show how many could say it at once: by question, text, language and clinician, and over time.

    Texts that too few understood stand with the sentence people were asked about; a text after whose change
    fewer understood is named.

    Example: consentpack talk-back report --by module
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.talk_report(opened(clinic_dir), today.date())
    if as_json:
        print_json(pipeline.report_json(found))
        return
    for name in (grouped,) if grouped else GROUPED:
        click.echo(f"By {name}:")
        for each in found.groups[name]:
            click.echo(f"  {_line(each)}")
    for line in () if grouped else _rest(found):
        click.echo(line)


def _line(each: Understood) -> str:
    later = f"{each.again} after we explained again, {each.not_yet} not yet"
    return f"{', '.join(each.group)}: {each.said} of {each.n} said it at once{_share(each)}; {later}"


def _share(each: Understood) -> str:
    if each.why_not:
        return f" ({each.why_not})"
    low, high = 100 * each.interval.low, 100 * each.interval.high
    return f", {100 * each.share:.0f}% (95% {low:.0f} to {high:.0f}%)"


def not_understood(found: Report) -> Iterator[str]:
    """Texts that too few could say, each with the sentence people were asked about; then those that fewer
    understand since they were changed."""
    for each in found.texts:
        yield f"Look at this text: {_line(each)}"
        yield _asked_about(each)
    yield from fell(found)


def fell(found: Report) -> Iterator[str]:
    """Texts that fewer understand since they were changed, with the new sentence."""
    for changed in (each for each in found.changed if each.fell):
        yield _changed(changed)
        yield _asked_about(changed.after)


def _asked_about(each: Understood) -> str:
    return f"  They were asked about: {each.sentence}"


def _rest(found: Report) -> Iterator[str]:
    yield from not_understood(found)
    for changed in (each for each in found.changed if not each.fell):
        yield _changed(changed)
    for drift in found.watched:
        yield from _signals(drift)
    luck = found.false_signals
    if luck and found.rules:
        texts = counted(len(found.watched), "text", "texts")
        yield (
            f"{texts} watched since {found.rules.baseline_until}; {len(found.without)} have no baseline. "
            f"With nothing changed, about {luck.expected:.1f} false signals in all."
        )
    elif not luck:
        yield "Nothing is watched over time: clinic.toml has no [watch]."


def _changed(each: Changed) -> str:
    before, after = (f"{some.said} of {some.n}" for some in (each.before, each.after))
    told = f"{each.module}, {each.question}: {before} before it was changed, {after} since {each.since}"
    if each.fell:
        return f"Fewer understand the new text. {told}. Read it again, and ask what is not clear."
    return f"Changed: {told} ({each.verdict})."


def _signals(each: Drift) -> Iterator[str]:
    for s in each.found.chart.signals:
        yield (
            f"{each.module}, {each.question}: crossed on {s.day}. {s.events} of {s.treatments} could not say "
            f"it at once since {s.since}, about {s.expected:.1f} expected. Look at the text, and at the talk."
        )
