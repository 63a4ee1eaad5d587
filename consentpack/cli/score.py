"""`consentpack score`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, guarded, json_option, print_json, start_of
from consentpack.errors import ReadabilityError

if TYPE_CHECKING:
    from consentpack.model import Score
    from consentpack.tree import Document


@click.command()
@click.argument("plans", nargs=-1, type=click.Path(path_type=Path))
@click.option("--text", is_flag=True, help="Print the very text that is scored, and nothing else.")
@click.option("--worst", default=3, show_default=True, help="How many of the hardest sentences.")
@clinic_option
@json_option
@guarded
def score(plans: tuple[Path, ...], text: bool, worst: int, clinic_dir: Path | None, as_json: bool) -> None:
    """Show the reading grade of the patient documents of PLANS, by section.

    Without PLANS: of every plan in plans/. Exits with 13 when a document is over the target.

    Example: consentpack score plans/p-101.toml
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.manifest import score_json  # noqa: PLC0415

    place = pipeline.open_workplace(start_of(clinic_dir))
    found = pipeline.score_plans(place, list(plans) or pipeline.plan_files(place))
    if as_json:
        print_json({p.reference: [score_json(s) for s in scores] for p, _, scores in found})
    else:
        for plan, documents, scores in found:
            for document, result in zip(documents, scores, strict=False):
                click.echo(_text(document) if text else _report(plan.reference, document, result, worst))
    if any(result.over for _, _, scores in found for result in scores):
        raise SystemExit(ReadabilityError.exit_code)


def _text(document: Document) -> str:
    from consentpack.readability import parts, scored_text  # noqa: PLC0415

    return "\n".join(scored_text(nodes) for _, _, nodes in parts(document))


def _report(reference: str, document: Document, result: Score, worst: int) -> str:
    from consentpack.readability import worst_sentences  # noqa: PLC0415

    lines = [f"{reference} {document.kind}: grade {_grade(result.grade)} (target {result.target:g})"]
    for section in result.sections:
        over = "  OVER" if section.id in result.over else ""
        lines.append(f"  {_grade(section.grade):>10}  {section.heading} ({section.words} words){over}")
    for sentence in worst_sentences(document, worst):
        lines.append(f"  hardest: {sentence.grade:.1f}  {sentence.source}: {sentence.text}")
    return "\n".join(lines)


def _grade(grade: float | None) -> str:
    return "too short" if grade is None else f"{grade:.1f}"
