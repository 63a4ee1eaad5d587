"""A new patient, or a change of a plan: what is typed is kept, shown for what it means, and saved."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from flask import Blueprint, Response, abort, redirect, request, url_for
from werkzeug.wrappers import Response as Redirect

from consentpack import pipeline
from consentpack.desk import papers
from consentpack.desk.page import here, place, view
from consentpack.errors import ConsentpackError, Problem

new_plan = Blueprint("new_plan", __name__, url_prefix="/patients")
_LISTS = ("planned", "may_become_necessary", "reader_needs")
_NO_ANSWERS = ("seen", "was", "made_from", "do", "asked_all")
Answer = str | Redirect | tuple[str, int]


@dataclass(frozen=True)
class Sheet:
    """What one page of questions shows."""

    answers: Mapping[str, str]
    draft: str = ""
    """Its name; '' before anything was kept."""
    seen: str = ""
    """The digest of the draft that is shown."""
    row: pipeline.PlanRow | None = None
    """The plan that is changed."""
    made_from: str = ""
    was: Mapping[str, str] = field(default_factory=dict)
    """The answers that stand in it."""
    kept: bool = False


@new_plan.get("/new")
def new() -> str:
    like = request.args.get("like", "")
    row = pipeline.plan_row(place(), like) if like else None
    planned = request.args.get("planned", "")
    answers = pipeline.begun(place(), today=date.today(), like=row, planned=planned)
    return _page(Sheet(answers), begin=not like and not planned)


@new_plan.post("/new")
def begin() -> Answer:
    return _taken(pipeline.new_draft_name(), None)


@new_plan.get("/unfinished/<name>")
def unfinished(name: str) -> str:
    draft = _draft(name)
    return _page(Sheet(draft.answers, name, draft.digest, kept=True))


def _draft(name: str) -> pipeline.PlanDraft:
    draft = pipeline.draft_of(here().folder, name)
    if draft is None:
        abort(404)
    return draft


@new_plan.post("/unfinished/<name>")
def more(name: str) -> Answer:
    return _taken(name, None)


@new_plan.get("/<named>/plan")
def change(named: str) -> str:
    """The plan as it stands, or as its unfinished change has it."""
    row = pipeline.plan_row(place(), named)
    name = pipeline.draft_name_of(row.file)
    draft = pipeline.draft_of(here().folder, name)
    now = pipeline.answers_in(row.data, place().library)
    if draft is None:
        return _page(Sheet(now, name, row=row, made_from=row.digest, was=now))
    if draft.made_from == row.digest:
        return _page(Sheet(draft.answers, name, draft.digest, row, row.digest, now, kept=True))
    changes = pipeline.between(draft.was, now, place().library)
    together = pipeline.merged(draft.was, draft.answers, now)
    said = (
        "The plan was changed by somebody else since you began. What you have not touched is as it is now; "
    )
    said += "what you have is yours. Look at it, then save."
    sheet = Sheet(together, name, draft.digest, row, row.digest, now, kept=True)
    return _page(sheet, changes=changes, changes_said=said)


@new_plan.post("/<named>/plan")
def changed(named: str) -> Answer:
    row = pipeline.plan_row(place(), named)
    return _taken(pipeline.draft_name_of(row.file), row)


# --- what is typed ----------------------------------------------------------------------------------


def _typed() -> dict[str, str]:
    """What the form says; every question that nobody answered is a no, where that was said."""
    form = request.form
    found = {key: "\n".join(form.getlist(key)) if key in _LISTS else form[key] for key in form}
    if "asked_all" in form:
        unasked = (f"factor.{each.id}" for each in pipeline.questions(place().library))
        found |= {key: "no" for key in unasked if not found.get(key)}
    return {key: value for key, value in found.items() if value and key not in _NO_ANSWERS}


def _taken(name: str, row: pipeline.PlanRow | None) -> Answer:
    """Keep what was typed, then do what was asked for."""
    if request.form.get("do") == "drop":
        pipeline.drop_draft(here().folder, name)
        return redirect(url_for("patients.plan", named=row.named) if row else "/patients", 303)
    typed, draft = _typed(), _made(row)
    if other := pipeline.keep_draft(here().folder, name, draft, seen=request.form.get("seen", "")):
        said = "In another window these were answered otherwise. What you have typed here stands below, and "
        said += "is not kept yet: press again to keep it."
        sheet = Sheet(typed, name, other.digest, row, draft.made_from, draft.was)
        changes = pipeline.between(other.answers, typed, place().library)
        return _page(sheet, changes=changes, changes_said=said), 409
    if request.form.get("do") in ("save", "build"):
        return _saved(name, draft, row)
    return redirect(_address(name, row), 303)


def _made(row: pipeline.PlanRow | None) -> pipeline.PlanDraft:
    """The draft of what was typed. It keeps from which state of the plan it was made."""
    if row is None:
        return pipeline.PlanDraft(_typed())
    return pipeline.PlanDraft(_typed(), row.file.name, request.form.get("made_from", ""), _was())


def _was() -> dict[str, str]:
    """The answers of the plan when the page was made, to tell later what somebody else has changed."""
    try:
        found = json.loads(request.form.get("was", "{}"))
        return {str(key): str(value) for key, value in found.items()}
    except (ValueError, AttributeError, RecursionError):
        return {}


def _address(name: str, row: pipeline.PlanRow | None) -> str:
    if row is None:
        return url_for("new_plan.unfinished", name=name, _anchor="means")
    return url_for("new_plan.change", named=row.named, _anchor="means")


def _saved(name: str, draft: pipeline.PlanDraft, row: pipeline.PlanRow | None) -> Answer:
    values = pipeline.values_in(draft.answers, place().library)
    try:
        file = pipeline.save_plan(place(), values, file=row.file if row else None, made_from=draft.made_from)
    except pipeline.PlanChanged:
        return redirect(_address(name, row), 303)  # which shows what was changed
    except ConsentpackError as error:
        return _page(_sheet(name, draft, row), problems=tuple(error.problems)), 409
    pipeline.drop_draft(here().folder, name)
    saved = pipeline.plan_at(place(), file)
    if request.form.get("do") == "build":
        return _built(saved)
    return redirect(url_for("patients.plan", named=saved.named, done="saved"), 303)


def _sheet(name: str, draft: pipeline.PlanDraft, row: pipeline.PlanRow | None) -> Sheet:
    return Sheet(draft.answers, name, draft.digest, row, draft.made_from, draft.was, kept=True)


def _built(row: pipeline.PlanRow) -> Answer:
    """The pack at once. The plan is saved in any case; what is in the way is told when it is made there."""
    try:
        pipeline.build(place(), row.file)
    except ConsentpackError:
        return redirect(url_for("patients.plan", named=row.named, done="unbuilt"), 303)
    return redirect(url_for("patients.plan", named=row.named, done="built"), 303)


# --- what is shown ----------------------------------------------------------------------------------


def _page(sheet: Sheet, *, begin: bool = False, problems: tuple[Problem, ...] = (), **more: Any) -> str:
    library, rows = place().library, pipeline.list_plans(place())
    usual = pipeline.usual(place(), rows)
    looked = pipeline.look(place(), sheet.answers, today=date.today()) if sheet.kept else None
    return view(
        "plan_form.html",
        title=f"The plan of {sheet.row.reference or sheet.row.named}" if sheet.row else "New patient",
        a=_Open(sheet.answers),
        file=sheet.row.file.name if sheet.row else "",
        name=sheet.draft if sheet.kept else "",
        seen=sheet.seen,
        made_from=sheet.made_from,
        was=json.dumps(dict(sheet.was), ensure_ascii=False),
        kept=sheet.kept,
        problems=problems,
        look=looked,
        preview=url_for("new_plan.shown", name=sheet.draft, kind="")[:-1] if sheet.draft else "",
        library=library,
        technique=library.techniques,
        usual=usual,
        like=usual if begin else (),
        drawn=sorted((each for each in library.regions.values() if each.area), key=_size, reverse=True),
        questions=pipeline.questions(library),
        known=pipeline.known_words(place(), rows),
        languages=pipeline.languages(place()),
        carried=_carried(sheet.answers, looked),
        lines=str.splitlines,
        is_day=_is_day,
        **more,
    )


class _Open(dict[str, str]):
    """Answers; '' to what was not answered."""

    def __missing__(self, key: str) -> str:
        return ""


def _size(region: Any) -> int:
    """Large areas are drawn first, so that a small one inside can be pointed at."""
    return int(region.area[2] * region.area[3])


def _is_day(typed: str) -> bool:
    """Whether a browser's own field for days can show it; another form of a day is shown as it was typed."""
    try:
        return not typed or bool(date.fromisoformat(typed))
    except ValueError:
        return False


def _carried(answers: Mapping[str, str], looked: pipeline.Look | None) -> list[str]:
    """What has no question of its own just now and must not be lost while one chooses: reasons for rules
    that do not speak, circumstances that follow from another answer."""
    asked = {f"factor.{each.id}" for each in pipeline.questions(place().library)}
    spoken = {each.rule.id for each in looked.findings if each.rule.strength != "note"} if looked else set()
    keys = [key for key in answers if key.startswith("reason.")]
    silent = [key for key in keys if key.removeprefix("reason.").rpartition(".")[0] not in spoken]
    return [*silent, *(key for key in answers if key.startswith("factor.") and key not in asked)]


@new_plan.get("/paper/<name>/<kind>")
def shown(name: str, kind: str) -> Response:
    """A paper as it would be, of what was kept last under a name."""
    draft = _draft(name)
    if kind not in place().library.documents:
        abort(404)
    page = pipeline.preview(place(), draft.answers, kind, today=date.today())
    return papers.answer(f"{kind}.html", page)
