"""Patients: every plan with where it stands, and one plan with its steps."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path

from flask import Blueprint, Response, abort, redirect, request, url_for
from werkzeug.wrappers import Response as Redirect

from consentpack import pipeline
from consentpack.desk import papers
from consentpack.desk.page import here, place, view
from consentpack.errors import ConsentpackError, LedgerError, PlanError, Problem

patients = Blueprint("patients", __name__, url_prefix="/patients")
_DONE = "done"
"""The name under which an address carries what was just done."""
SAID = {
    "built": "The working pack was made.",
    "given": "The pack was given, and entered in the ledger.",
    "marked": "It was entered in the ledger.",
    "saved": "The plan was saved.",
    "unbuilt": "The plan was saved. Its pack was not made: make it below, and what is in the way is told.",
}


@patients.get("")
def plans() -> str:
    search = request.args.get("search", "")[:200]
    rows = pipeline.list_plans(place(), search=search)
    state = request.args.get("state", "")
    shown = [row for row in rows if state in ("", row.state)]
    stale = _stale() if "stale" in request.args else None
    return view("plans.html", title="Patients", rows=shown, search=search, state=state, stale=stale,
                states=pipeline.PLAN_STATES, unfinished=_unfinished(), technique=_techniques())  # fmt: skip


def _unfinished() -> list[tuple[str, str, str]]:
    """Address, name and time of what was begun and is no plan yet."""
    found, by_file = [], {row.file.name: row for row in pipeline.list_plans(place())}
    for each in pipeline.unfinished(here().folder):
        row = by_file.get(each.file)
        address = url_for("new_plan.unfinished", name=each.name)
        if row is not None:
            address = url_for("new_plan.change", named=row.named)
        kept = each.kept.astimezone().strftime("%Y-%m-%d %H:%M")
        found.append((address, each.reference or "no reference yet", kept))
    return found


def _stale() -> dict[str, str]:
    """Reference -> why its pack no longer tells what would be told now."""
    found = pipeline.stale(place(), today=date.today())
    return {each.standing.given.reference: "; ".join(reasons(each)) for each in found}


def reasons(stale: pipeline.Stale) -> list[str]:
    figures = [f"{each.name}: {each.why} ({each.then} then, {each.now} now)" for each in stale.figures]
    return [*figures, *stale.texts, *stale.rules]


def _techniques() -> dict[str, str]:
    return {id: technique.title for id, technique in place().library.techniques.items()}


@patients.get("/<named>")
def plan(named: str) -> str:
    return _plan(named, ())


def _plan(named: str, problems: tuple[Problem, ...]) -> str:
    row = pipeline.plan_row(place(), named)
    told = None
    if row.given:
        told = pipeline.story(place().folder, row.reference)
    today = date.today()
    stale = pipeline.stale(place(), today=today, reference=row.reference) if row.given else []
    return view(
        "plan.html",
        title=row.reference or row.named,
        row=row,
        steps=pipeline.steps_of(row),
        problems=problems,
        told=told,
        stale=[why for each in stale for why in reasons(each)],
        papers=pipeline.papers_in,
        by_title=_by_title,
        in_print_order=_in_print_order,
        technique=_techniques(),
        library=place().library,
        people=place().clinic.people,
        today=today,
        answers=pipeline.ANSWERS,
        how=pipeline.HOW,
        languages=pipeline.languages(place()),
        said=SAID.get(request.args.get(_DONE, ""), ""),
        standing=pipeline.standing_words,
        needs=pipeline.words_of(row.data, "reader_needs"),
        typed=request.form,
    )


_FORMS = {
    ".html": "read or print",
    ".docx": "Word",
    "-large-print.docx": "Word, large print",
    ".pdf": "PDF",
    "-large-print.pdf": "PDF, large print",
    "-side-by-side.html": "in both languages, read or print",
    "-side-by-side.docx": "in both languages, Word",
    "-side-by-side.pdf": "in both languages, PDF",
}
"""How the name of a paper ends after its kind -> what that is, in the order in which they are offered."""


def _by_title(names: Iterable[str]) -> list[tuple[str, list[tuple[str, str]]]]:
    """The papers of a pack by the title of their document, each with its forms."""
    documents, names = place().library.documents, set(names)
    found = [
        (document.title, [(label, f"{id}{end}") for end, label in _FORMS.items() if f"{id}{end}" in names])
        for id, document in sorted(documents.items(), key=lambda item: item[1].order)
    ]
    told = {name for _, forms in found for _, name in forms}
    others = [(name, [("get", name)]) for name in sorted(names - told)]
    return [*((title, forms) for title, forms in found if forms), *others]


def _in_print_order(names: Iterable[str]) -> dict[str, int]:
    """What can be printed in one go -> how many papers that are; by what follows the address."""
    found = {"": False, "?large=1": True}
    counted = {
        key: len(pipeline.in_print_order(place(), names, large_print=large)) for key, large in found.items()
    }
    return {key: number for key, number in counted.items() if number}


def _back(named: str, done: str, part: str = "") -> Redirect:
    return redirect(url_for("patients.plan", named=named, done=done, _anchor=part or None), 303)


def _unchanged(row: pipeline.PlanRow) -> None:
    """Nothing is made or given of another plan than the one that was looked at."""
    if request.form.get("digest", "") != row.digest:
        what = "the plan was changed while this page was open, here or in another window. Nothing was done."
        raise PlanError(Problem(row.named, what, "Look at the plan as it is now, then do it again."))


@patients.post("/<named>/build")
def build(named: str) -> Redirect | tuple[str, int]:
    return _tried(named, _build, "built")


def _tried(named: str, do: Callable[[pipeline.PlanRow], None], done: str) -> Redirect | tuple[str, int]:
    """Do something to a plan; what keeps it from being done is told on its page, with what was typed."""
    row = pipeline.plan_row(place(), named)
    try:
        do(row)
    except ConsentpackError as error:
        return _plan(named, tuple(error.problems)), 409
    return _back(named, done)


def _build(row: pipeline.PlanRow) -> None:
    _unchanged(row)
    form = request.form
    pipeline.build(
        place(),
        row.file,
        allow_draft="draft" in form,
        pdf="pdf" in form,
        large_print="large_print" in form,
        both_languages="both_languages" in form,
        language=form.get("language", ""),
    )


@patients.post("/<named>/give")
def give(named: str) -> Redirect | tuple[str, int]:
    return _tried(named, _give, "given")


def _give(row: pipeline.PlanRow) -> None:
    _unchanged(row)
    form = request.form
    handing = pipeline.Handing(
        _by(),
        datetime.now(),
        form.get("to", "paper"),
        form.get("language", ""),
        "large_print" in form,
        both_languages="both_languages" in form,
        pdf="pdf" in form,
    )
    if handing.to not in pipeline.HOW:
        raise LedgerError(Problem("how it is handed over", f"'{handing.to}' is no way to hand over a pack."))
    pipeline.give(place(), row.file, handing)


def _by() -> str:
    by = request.form.get("by", "").strip()
    if not by:
        raise LedgerError(Problem("who is doing this", "nobody was named.", "Choose a name, or type one."))
    return by


@patients.post("/<named>/mark")
def mark(named: str) -> Redirect | tuple[str, int]:
    return _tried(named, _mark, "marked")


def _mark(row: pipeline.PlanRow) -> None:
    form = request.form
    scan = request.files.get("scan")
    with tempfile.TemporaryDirectory(prefix="consentpack-") as folder:
        path = None
        if scan and scan.filename:
            path = Path(folder) / "scan"
            scan.save(path)
        marked = pipeline.Marked(
            form.get("what", ""),
            _by(),
            datetime.now(),
            _day("day"),
            _number("version"),
            path,
            tuple(form.getlist("techniques")),
            form.get("case", "").strip(),
            _number("session"),
        )
        pipeline.mark(place().folder, row.reference, marked)
        if marked.kind == "differently":
            pipeline.save_done(place(), row.file, techniques=marked.techniques, day=marked.day)


def _day(name: str) -> date:
    typed = request.form.get(name, "")
    try:
        return date.fromisoformat(typed) if typed else date.today()
    except ValueError:
        what = f"'{typed}' is no day."
        raise LedgerError(Problem("the day it happened", what, "Such as: 2026-11-25")) from None


def _number(name: str) -> int:
    typed = request.form.get(name, "")
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 6 else 0


@patients.get("/<named>/pack/<name>")
def working_paper(named: str, name: str) -> Response:
    """A paper of the working pack."""
    row = pipeline.plan_row(place(), named)
    if row.working is None:
        abort(404)
    return papers.answer(name, pipeline.paper(row.working.folder, name))


@patients.get("/<named>/pack/print")
def print_working(named: str) -> Response:
    """All papers of the working pack, in one PDF."""
    row = pipeline.plan_row(place(), named)
    if row.working is None:
        abort(404)
    large = "large" in request.args
    made = pipeline.print_set_in(place(), row.working.folder, large_print=large)
    return papers.answer(f"{row.named}.pdf", made)


@patients.get("/<named>/given/<int:version>/print")
def print_given(named: str, version: int) -> Response:
    """All papers as they were given, in one PDF."""
    row = pipeline.plan_row(place(), named)
    if version not in {each.given.version for each in row.given}:
        abort(404)
    made = pipeline.print_set(place(), row.named, version=version, large_print="large" in request.args)
    return papers.answer(f"{row.named}-version-{version}.pdf", made)


@patients.get("/<named>/given/<int:version>/code.svg")
def code(named: str, version: int) -> Response:
    """The code of what was given, as a square for a camera."""
    row = pipeline.plan_row(place(), named)
    found = next((each.given.code for each in row.given if each.given.version == version), None)
    if found is None:
        abort(404)
    return Response(pipeline.code_square(found), mimetype="image/svg+xml")


@patients.get("/<named>/given/<int:version>/<name>")
def given_paper(named: str, version: int, name: str) -> Response:
    """A paper as it was given."""
    row = pipeline.plan_row(place(), named)
    if version not in {each.given.version for each in row.given}:
        abort(404)
    return papers.answer(name, pipeline.given_paper(place().folder, row.reference, version, name))
