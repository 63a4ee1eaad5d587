"""Packs: from a plan to files. Each stage takes what the one before gave, and gives a frozen value."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from consentpack.model import Given, ToldBefore
from consentpack.pipeline.deciding import Progress, decide
from consentpack.pipeline.drafting import draft
from consentpack.pipeline.judging import Judged, judge
from consentpack.pipeline.keeping import keep_pack, pack_folder
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.prepare import Wanted, prepare
from consentpack.pipeline.writing import Pack, export, with_pdf

__all__ = ["Judged", "Pack", "build", "judge_plan", "make_pack"]


def _silent(_message: str) -> None:
    return


def judge_plan(
    place: Workplace,
    plan_path: Path,
    *,
    today: date | None = None,
    large_print: bool = False,
    both_languages: bool = False,
    language: str = "",
    only: frozenset[str] = frozenset(),
    pdf: bool = False,
    given: Given | None = None,
    told_before: ToldBefore | None = None,
    progress: Progress = _silent,
) -> Judged:
    """Match, rate, assemble and judge one plan. Makes no file.

    `large_print` asks for every document in 18 pt; `both_languages` for the patient's documents beside
    the same in the clinic's language; `only` for some kinds of document; `pdf` for sides as they are drawn.
    `language` goes before the plan's own. `given` makes of it what is given, not a working copy;
    `told_before` adds a sheet of what has changed since an older version. `today` decides which approvals
    hold; without it, the day it is.
    """
    formats = frozenset({"large-print"} if large_print else ())
    wanted = Wanted(today or date.today(), language, formats, both_languages, only, pdf, given, told_before)
    prepared = prepare(place, plan_path, wanted)
    decided = decide(prepared, progress)
    progress("assembling and scoring")
    return judge(prepared, decided, draft(prepared, decided))


def make_pack(
    place: Workplace,
    plan_path: Path,
    *,
    today: date | None = None,
    large_print: bool = False,
    both_languages: bool = False,
    language: str = "",
    only: frozenset[str] = frozenset(),
    given: Given | None = None,
    told_before: ToldBefore | None = None,
    progress: Progress = _silent,
) -> Pack:
    """Everything `judge_plan` does, and the files of it. Writes nothing."""
    judged = judge_plan(
        place,
        plan_path,
        today=today,
        large_print=large_print,
        both_languages=both_languages,
        language=language,
        only=only,
        given=given,
        told_before=told_before,
        progress=progress,
    )
    progress("writing the documents")
    return export(judged)


def build(
    place: Workplace,
    plan_path: Path,
    *,
    allow_draft: bool = False,
    pdf: bool = False,
    large_print: bool = False,
    both_languages: bool = False,
    language: str = "",
    only: frozenset[str] = frozenset(),
    folder: Path | None = None,
    today: date | None = None,
    progress: Progress = _silent,
) -> tuple[Pack, Path]:
    """Make a pack and write it whole.

    Raises TranslationError, ConsentRuleError, ReadabilityError or LengthError, with nothing made or written,
    when patients must not have it and no draft was asked for.
    """
    judged = judge_plan(
        place,
        plan_path,
        today=today,
        large_print=large_print,
        both_languages=both_languages,
        language=language,
        only=only,
        pdf=pdf,
        progress=progress,
    )
    if judged.problems and not allow_draft:
        raise judged.refusal(judged.problems)
    progress("writing the documents")
    pack = export(judged)
    if pdf:
        progress("drawing PDFs")
        pack = with_pdf(pack)
    target = folder or pack_folder(place, pack.plan)
    for message in keep_pack(target, pack.files, plan_file=plan_path.name, clinic=place.folder):
        progress(message)
    return pack, target
