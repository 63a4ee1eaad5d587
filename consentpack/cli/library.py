"""`consentpack library`."""

from __future__ import annotations

from datetime import date, datetime
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, opened, print_json, start_of
from consentpack.cli.library_checklists import print_checklists
from consentpack.cli.library_score import score_library
from consentpack.errors import ClinicError

if TYPE_CHECKING:
    from consentpack.pipeline import StatusRow

MODULE_KINDS = (
    "technique", "risk", "benefit", "option", "factor", "aftercare", "warning", "document",
)  # fmt: skip
# as library.skeleton.FOLDER_OF, which is too heavy for --help; a test holds them to it
_DAY = click.DateTime(formats=["%Y-%m-%d"])


@click.group()
def library() -> None:
    """Look at, check and approve the modules a pack is made of.

    Example: consentpack library list
    """


def _clinic_or_none(clinic_dir: Path | None) -> Path | None:
    """The clinic to read; None (the shipped library alone) when there is none here."""
    from consentpack.clinic import find_clinic  # noqa: PLC0415

    try:
        return find_clinic(start_of(clinic_dir))
    except ClinicError:
        if clinic_dir:
            raise
        return None


@library.command("list")
@clinic_option
@json_option
@guarded
def list_(clinic_dir: Path | None, as_json: bool) -> None:
    """List all modules by kind.

    Outside a clinic folder it lists the shipped library.

    Example: consentpack library list
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.open_library(_clinic_or_none(clinic_dir), whole=False)
    if as_json:
        print_json(
            [
                {"kind": f, "id": m.id, "title": m.title, "version": m.version, "file": m.file}
                for f, m in found.modules()
            ]
        )
        return
    kind = ""
    for folder, module in found.modules():
        if folder != kind:
            kind = folder
            click.echo(f"{kind} ({len(found.kind(kind))})")
        click.echo(f"  {module.id}: {module.title}")
    if found.without:
        click.echo(
            f"Switched off in clinic.toml, or needed by nothing else: {', '.join(sorted(found.without))}",
            err=True,
        )
    for name in found.set_aside:
        click.echo(f"{name}: set aside, as it has a mistake (`consentpack library check`)", err=True)


@library.command()
@clinic_option
@json_option
@guarded
def regions(clinic_dir: Path | None, as_json: bool) -> None:
    """List the regions a plan may name, and the places of the clinic that lie in each.

    Example: consentpack library regions
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.open_library(_clinic_or_none(clinic_dir), whole=False).regions
    if as_json:
        print_json([{"id": r.id, "title": r.title, "words": list(r.words)} for r in found.values()])
        return
    for region in found.values():
        words = f" ({', '.join(region.words)})" if region.words else ""
        click.echo(f"{region.id}: {region.title}{words}")


@library.command()
@click.argument("id")
@clinic_option
@guarded
def show(id: str, clinic_dir: Path | None) -> None:
    """Show one module: what it says, where it lies, and where its facts come from.

    Example: consentpack library show bruising
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.open_library(_clinic_or_none(clinic_dir), whole=False)
    folder, module = pipeline.find_module(found, id)
    click.echo(f"{module.title} ({folder}/{module.id}, version {module.version})")
    click.echo(f"{module.file}; reviewed {module.reviewed}, to be reviewed by {module.review_by}")
    click.echo(f"Sources: {', '.join(module.sources) or 'none named'}")
    for label, blocks in module.sections.items():
        click.echo(f"\n## {label}")
        for block in blocks:
            for item in block.items:
                click.echo(f"- {item.text}" if block.kind in ("bullets", "numbered") else item.text)
    if module.evidence:
        click.echo("\nNotes on the facts:")
        for note in module.evidence:
            click.echo(f"- {note}")


@library.command()
@click.argument("id")
@clinic_option
@guarded
def copy(id: str, clinic_dir: Path | None) -> None:
    """Copy a shipped module into the clinic's own content, to be changed there.

    Example: consentpack library copy bruising
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    click.echo(str(pipeline.copy_module(place, id)))


@library.command()
@click.argument("kind", type=click.Choice(MODULE_KINDS))
@click.argument("name")
@clinic_option
@guarded
def new(kind: str, name: str, clinic_dir: Path | None) -> None:
    """Begin a module of your own: a file with every key and part, each saying what it is for.

    Until all of it is filled in the check names it as not finished, and nothing uses it.

    Example: consentpack library new technique warm-packs
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    click.echo(str(pipeline.new_module(place, kind, name)))


@library.command()
@clinic_option
@click.option("--today", type=_DAY, help="Judge dates as of this day.")
@click.option("--checklists", is_flag=True, help="Instead: how packs stand to published checklists.")
@guarded
def check(clinic_dir: Path | None, today: datetime | None, checklists: bool) -> None:
    """Check every module: keys, ids, placeholders, parts, reachability, reading grade, dates.

    A rare word that nothing explains is noted, and is no problem. With --checklists it goes through
    published lists item by item, for the plans of the clinic folder; outside of one, for one sample plan for
    each technique that treats.

    Example: consentpack library check
    """
    if checklists:
        print_checklists(_clinic_or_none(clinic_dir))
        return
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.check import check_library, check_rare_words  # noqa: PLC0415

    found = pipeline.open_library(_clinic_or_none(clinic_dir), whole=False)
    day = today.date() if today else date.today()
    report = check_library(found, pipeline.scorer_of(found), today=day)
    for problem in report:
        click.echo(str(problem))
    for note in check_rare_words(found, pipeline.scorer_of(found)):
        click.echo(f"note: {note}")
    count = sum(1 for _ in found.modules())
    click.echo(f"{count} modules read, {counted(len(report), 'problem', 'problems')}.")
    if report:
        raise SystemExit(10)


@library.command()
@click.argument("ids", nargs=-1)
@click.option("--all", "everything", is_flag=True, help="Approve every module.")
@click.option("--by", required=True, help="The clinician who approves.")
@click.option("--role", required=True, help="That person's role.")
@click.option("--until", type=_DAY, help="Last day it holds. Without it: the module's review day.")
@click.option("--language", default="", help="The language that was read. Without it: the clinic's own.")
@clinic_option
@guarded
def approve(
    ids: tuple[str, ...],
    everything: bool,
    by: str,
    role: str,
    until: datetime | None,
    language: str,
    clinic_dir: Path | None,
) -> None:
    """Sign modules off in the clinic's name. Editing a module withdraws it.

    A translation counts as approved when two different people have approved the same text.

    Example: consentpack library approve bruising --by "Dr Ann Example" --role "Dermatologist"
    """
    from consentpack import pipeline  # noqa: PLC0415

    if bool(ids) == everything:
        raise click.UsageError("Name the modules to approve, or say --all.")
    place = opened(clinic_dir)
    last = until.date() if until else None
    made = pipeline.approve(
        place, list(ids), by=by, role=role, day=date.today(), until=last, language=language
    )
    click.echo(f"{counted(len(made), 'module', 'modules')} approved by {by}.")


@library.command()
@click.option("--language", "languages", multiple=True, help="Only this language. May be given again.")
@click.option("--today", type=_DAY, help="Judge dates as of this day.")
@clinic_option
@json_option
@guarded
def status(
    languages: tuple[str, ...], today: datetime | None, clinic_dir: Path | None, as_json: bool
) -> None:
    """Show which modules are approved, changed, past their date or never approved, by language.

    Example: consentpack library status
    """
    from consentpack import pipeline  # noqa: PLC0415

    day = today.date() if today else date.today()
    place = opened(clinic_dir)
    rows = pipeline.library_status(place, today=day, languages=languages)
    if as_json:
        print_json([_status_json(row) for row in rows])
    else:
        _print_status(rows, day)
        if not languages and (left := pipeline.languages_left(place)):
            click.echo(f"Translated, with nothing approved yet: {', '.join(left)} (--language shows one).")


def _status_json(row: StatusRow) -> dict[str, object]:
    state, given = row.state, row.state.approval
    return {
        "language": row.language,
        "module": state.module,
        "version": state.version,
        "state": state.state,
        "until": state.until.isoformat() if state.until else None,
        "ends_soon": row.ends_soon,
        "by": given.by if given else None,
        "role": given.role if given else None,
        "day": given.day.isoformat() if given else None,
    }


def _print_status(rows: list[StatusRow], day: date) -> None:
    """By language and state: how many, and which; approved ones are only counted."""
    for (language, state), group in groupby(
        sorted(rows, key=lambda r: (r.language, r.state.state)), key=lambda r: (r.language, r.state.state)
    ):
        found = list(group)
        click.echo(f"{language}: {counted(len(found), 'module', 'modules')} {state}")
        if state != "approved":
            click.echo(f"  {', '.join(row.state.module for row in found)}")
        for row in found:
            if row.ends_soon and row.state.until:
                left = counted((row.state.until - day).days, "day", "days")
                click.echo(f"  {row.state.module}: ends in {left}, on {row.state.until}")


library.add_command(score_library)
