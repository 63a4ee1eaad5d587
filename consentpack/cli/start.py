"""`consentpack start`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import guarded, progress

if TYPE_CHECKING:
    from consentpack.library import Library
    from consentpack.pipeline import Started

_OPTIONS = {
    "name": "The clinic's name, as patients know it.",
    "address": "Its address, with commas between the lines.",
    "phone": "The number in opening hours.",
    "out_of_hours": "The number at night and at weekends.",
    "hours": "Opening hours, in words.",
    "field": "A field of medicine that is shipped, by its name; usual: the one most clinics here have.",
    "rules": "The law or body about consent, such as uk-cosmetic.",
    "emergency": "The number of the ambulance.",
    "languages": "The clinic's own English, then patients' languages: en-GB,pl,ar",
    "logo": "A PNG or JPEG file.",
    "sheet": "A spreadsheet with the treatments you have done; it is copied in.",
    "audit": "yes or no: whether an audit is kept. With --sheet: yes.",
    "dates": "How dates are typed: day-first, month-first or year-first.",
}  # as start_answers.QUESTIONS, which is too heavy for --help; a test holds them to it


def _options(command: Callable[..., Any]) -> Callable[..., Any]:
    for name, help in reversed(_OPTIONS.items()):
        command = click.option(f"--{name.replace('_', '-')}", name, default=None, help=help)(command)
    return command


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@_options
@click.option("--yes", is_flag=True, help="Ask nothing: take what is usual for all that is not said here.")
@guarded
def start(folder: Path, yes: bool, **said: str | None) -> None:
    """Make a clinic folder in FOLDER that makes a first pack: settings, a first plan, a map of your sheet.

    What is not said with an option is asked. Every line of the files says what it is for. Nothing is
    written over.

    Example: consentpack start my-clinic
    """
    from consentpack import pipeline  # noqa: PLC0415 - keeps --help fast

    given = {name: words for name, words in said.items() if words is not None}
    if not yes and can_ask():
        given = _asked(given, pipeline.open_library(None))
    progress(f"making {folder} and trying its first plan")
    made = pipeline.start(folder, given, today=date.today())
    _tell(made, folder)


def can_ask() -> bool:
    """Whether somebody sits there who can answer."""
    return sys.stdin.isatty()


def _asked(given: dict[str, str], library: Library) -> dict[str, str]:
    """The answers to what was not said, each looked at when it is given."""
    from consentpack import pipeline  # noqa: PLC0415

    about = pipeline.start_answers
    answers: dict[str, str] = {}
    for question in about.QUESTIONS:
        name = question.name
        if not about.is_asked(name, answers):
            continue

        def checked(words: str, name: str = name) -> str:
            if problem := about.wrong(name, words, library, answers):
                raise click.BadParameter(problem)
            return words

        if name in given:
            answers[name] = given[name]
            continue
        for choice, about_it in about.choices(name, library):
            click.echo(f"  {choice}: {about_it}")
        usually = about.usual(name, answers)
        default = usually if usually or not question.needed else None
        answers[name] = click.prompt(
            question.asked, default=default, value_proc=checked, show_default=bool(default)
        )
    return answers


def _tell(made: Started, folder: Path) -> None:
    for path in made.files:
        click.echo(str(path))
    for header in made.unclear:
        click.echo(f"'{header}': it could not be told what this column holds; it is not read.", err=True)
    for header in made.identities:
        said = (
            "this column looks as if it says who a patient is: take it out of the file, or have it never read"
        )
        click.echo(f"'{header}': {said}:", err=True)
        click.echo(f'  consentpack audit map {made.sheet} --save --column "{header}=ignore"', err=True)
    for name in made.others:
        said = f'which was not looked at: consentpack audit map {made.sheet} --save --sheet "{name}"'
        click.echo(f"Sheet '{name}' looks like an audit too, {said}", err=True)
    if made.sheet:
        click.echo(
            f"Look at [audit.columns] in clinic.toml, mend it, then: consentpack audit import {made.sheet}",
            err=True,
        )
    click.echo(f"Next: cd {folder} && consentpack build first-plan")
