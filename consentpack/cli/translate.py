"""`consentpack translate`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, print_json, start_of
from consentpack.errors import ClinicError, TranslationError

if TYPE_CHECKING:
    from consentpack.pipeline import Stand, Texts

_shipped = click.option(
    "--shipped", is_flag=True, help="The texts that come with the program, also inside a clinic folder."
)
_field = click.option(
    "--field", default="", help="The texts of a shipped field beside the usual one, by its name."
)
_folder = click.option(
    "--catalogues",
    type=click.Path(path_type=Path),
    help="The folder of the catalogues, where it is not locales/ of the clinic or of the program.",
)
_tags = click.argument("languages", nargs=-1)


@click.group()
def translate() -> None:
    """Bring the texts into other languages, in PO files that any translator's editor opens.

    In a clinic folder these are the clinic's own modules and words; elsewhere the texts that come with
    the program.

    Example: consentpack translate status
    """


def _place(clinic_dir: Path | None, shipped: bool, field: str, catalogues: Path | None) -> Texts:
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.clinic import find_clinic  # noqa: PLC0415

    try:
        found = None if shipped or field else find_clinic(start_of(clinic_dir))
    except ClinicError:
        if clinic_dir:
            raise
        found = None
    return pipeline.texts(found, field=field, folder=catalogues)


def _common(command: Callable[..., Any]) -> Callable[..., Any]:
    return clinic_option(_shipped(_field(_folder(guarded(command)))))


@translate.command()
@_common
def extract(clinic_dir: Path | None, shipped: bool, field: str, catalogues: Path | None) -> None:
    """Write a template of all texts, with file and line of each, to begin a language from.

    Example: consentpack translate extract
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = _place(clinic_dir, shipped, field, catalogues)
    path = pipeline.extract(place)
    click.echo(f"{path}: {counted(len(place.messages), 'text', 'texts')} to translate.")


@translate.command()
@_tags
@click.option("--made-up", is_flag=True, help="Begin a language that nobody speaks, to try layout with.")
@_common
def update(
    languages: tuple[str, ...],
    made_up: bool,
    clinic_dir: Path | None,
    shipped: bool,
    field: str,
    catalogues: Path | None,
) -> None:
    """Bring the PO files of LANGUAGES (all there are, without names) up to date with the texts.

    A text that was edited keeps its old translation, marked fuzzy until somebody has looked at it; all
    others stay as they are. A language that is not there yet is begun.

    Example: consentpack translate update pl
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = _place(clinic_dir, shipped, field, catalogues)
    for stand in pipeline.update_translations(place, languages, made_up=made_up):
        click.echo(_line(stand))


@translate.command()
@_tags
@json_option
@_common
def status(
    languages: tuple[str, ...],
    as_json: bool,
    clinic_dir: Path | None,
    shipped: bool,
    field: str,
    catalogues: Path | None,
) -> None:
    """Say how much of each language is translated, changed since, or missing.

    Example: consentpack translate status --json
    """
    from consentpack import pipeline  # noqa: PLC0415

    stands = pipeline.translation_status(_place(clinic_dir, shipped, field, catalogues), languages)
    if as_json:
        print_json([{**asdict(stand), "percent": stand.percent} for stand in stands])
        return
    for stand in stands:
        click.echo(_line(stand))
        for text in stand.missing[:_SHOWN]:
            click.echo(f"  missing: {text[:90]}")
    if not stands:
        click.echo("There is no language yet. `consentpack translate update pl` would begin Polish.")


_SHOWN = 10


def _line(stand: Stand) -> str:
    missing = len(stand.missing)
    rest = f"{stand.fuzzy} changed since (fuzzy), {missing} missing, {stand.obsolete} no longer used"
    return f"{stand.language}: {stand.percent:.1f}% of {stand.messages} texts translated; {rest}"


@translate.command()
@_tags
@_common
def check(
    languages: tuple[str, ...], clinic_dir: Path | None, shipped: bool, field: str, catalogues: Path | None
) -> None:
    """Compare each translation with its original: values, numbers, units, "not", marks, terms, length.

    A program cannot tell whether a translation is right. What it finds is a slip nearly always; where
    it is none, say why in a translator's comment: "accepted: negations – said with another word".

    Example: consentpack translate check pl
    """
    from consentpack import pipeline  # noqa: PLC0415

    problems = pipeline.check_translations(_place(clinic_dir, shipped, field, catalogues), languages)
    if problems:
        raise TranslationError(problems)
    click.echo("Every translation has the values, numbers, words and marks of its original.")
