"""Who is due, and who is asked no more: lost to follow-up, or followed elsewhere."""

from __future__ import annotations

from datetime import date, datetime
from urllib.parse import urlencode

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.errors import Problem, RegisterError

audit_due = Blueprint("audit_due", __name__)
_REFUSED = 422
_ON_A_PAGE = 50
SHOWN = {"": "all", "harms": "harms", "serious": "serious harms", "not-asked": "those asked no more"}
"""Which are shown -> its name."""
Page = str | Response | tuple[str, int]


@audit_due.get("/audit/due")
def due() -> Page:
    return _due()


def _due(problems: tuple[Problem, ...] = ()) -> Page:
    where, typed = place(), request.args
    page, only, starts = typed.get("page", 1, type=int), typed.get("only", ""), typed.get("case", "").strip()
    if not 1 <= page <= 1_000_000:
        abort(404)
    asked, not_asked = pipeline.due_parted(where, _day_of(typed.get("on", "")) or date.today())
    listed = not_asked if only == "not-asked" else [each for each in asked if _is_wanted(each.weight, only)]
    chosen = [each for each in listed if each.due.case.startswith(starts)]
    shown = view(
        "audit/due.html",
        title="Who is due",
        visits=chosen[(page - 1) * _ON_A_PAGE : page * _ON_A_PAGE],
        number=len(chosen),
        total=len(asked),
        serious=sum(not each.weight for each in asked),
        not_asked=len(not_asked),
        lost=sum(each.not_asked is not None and each.not_asked.is_lost for each in not_asked),
        only=only,
        shown=SHOWN,
        starts=starts,
        page=page,
        last_page=-(-len(chosen) // _ON_A_PAGE),
        again=urlencode({"only": only, "case": starts}),
        how=_choices(),
        people=where.clinic.people,
        today=date.today(),
        typed=request.form,
        ticked=request.form.getlist("treatment"),
        problems=problems,
        entered=typed.get("entered", type=int),
    )
    return (shown, _REFUSED) if problems else shown


def _is_wanted(weight: int, only: str) -> bool:
    return {"serious": weight == 0, "harms": weight < pipeline.GAIN}.get(only, True)


def _day_of(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        abort(400)


def _choices() -> dict[str, str]:
    """What may be said of following a treatment up -> in words."""
    elsewhere = {f"elsewhere:{id}": f"followed elsewhere: {who}" for id, who in pipeline.FOLLOWED_BY.items()}
    return {"lost": "lost to follow-up: cannot be reached", **elsewhere}


@audit_due.post("/audit/due")
def say() -> Page:
    """Say of the treatments that were ticked that they are asked about no more, or again."""
    form, problems = request.form, list[Problem]()
    treatments = [_treatment(each) for each in form.getlist("treatment")]
    how, by, day = form.get("how", ""), form.get("by", "").strip(), _since(problems)
    if not treatments:
        problems.append(Problem("Treatments", "none is ticked.", "Tick those that you mean in the list."))
    if not how:
        problems.append(Problem("What is so", "nothing was chosen."))
    if not by:
        problems.append(Problem("Who is doing this", "is blank; choose or type a name."))
    if problems:
        return _due(tuple(problems))
    told = pipeline.FollowUp(how.partition(":")[0], day, how.partition(":")[2])
    try:
        number = pipeline.say_follow_up(place(), treatments, told, now=datetime.now(), by=by)
    except RegisterError as error:
        return _due(error.problems)
    kept = {name: request.args.get(name, "") for name in ("only", "case")}
    return redirect(f"/audit/due?{urlencode({**kept, 'entered': number})}", 303)


def _treatment(sent: str) -> tuple[str, int]:
    """A treatment as the page wrote it: the session, a space and the case."""
    session, _, case = sent.partition(" ")
    if not (session.isascii() and session.isdecimal() and len(session) < 10 and case):
        abort(400)
    return case, int(session)


def _since(problems: list[Problem]) -> date:
    typed = request.form.get("since", "").strip()
    try:
        return date.fromisoformat(typed) if typed else date.today()
    except ValueError:
        problems.append(Problem("Since", f"'{typed}' is no day; write it as 2026-11-25."))
        return date.today()
