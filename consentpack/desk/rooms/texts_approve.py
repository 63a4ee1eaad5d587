"""Approving the texts of one plan: what is to be read, and what changed in it since it was approved last."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.errors import ConsentpackError, ContentError, Problem

texts_approve = Blueprint("texts_approve", __name__)

GROUPS = {
    "changed": ("Changed since they were approved", "What was taken out and what was put in is marked."),
    "needs another person": (
        "Waiting for a second person",
        "A translation counts when two have approved it.",
    ),
    "expired": (
        "Approvals that have run out",
        "The text is the one that was approved, unless something is marked.",
    ),
    "never approved": ("New to this clinic", "Nobody here has approved these yet. Open each to read it."),
    "approved": ("Approvals that end soon", "Signed once more, each holds from today."),
}
"""State -> its heading, and what is said of it."""


@texts_approve.get("/texts/approve")
def approve() -> str:
    return _page()


def _page(**more: Any) -> str:
    opened, plan = place(), request.values.get("plan", "")
    language = request.values.get("language") or opened.clinic.language
    shared: dict[str, Any] = {
        "plan": plan,
        "plans": pipeline.references(opened),
        "language": language,
        "own": opened.clinic.language,
        "languages": pipeline.languages_of(opened),
        "people": opened.clinic.people,
        **more,
    }
    if not plan:
        return view("approve.html", title="Approve texts", groups=None, **shared)
    file = pipeline.plan_with(opened, plan)
    found = pipeline.reading_list(opened, file, today=date.today(), language=language)
    groups = [
        (heading, hint, some)
        for state, (heading, hint) in GROUPS.items()
        if (some := [each for each in found if each.state.state == state and each.is_open])
    ]
    settled = [each for each in found if not each.is_open]
    still = sum(each.state.state != "approved" for each in found)
    title = f"Approve the texts of {plan}"
    return view("approve.html", title=title, groups=groups, settled=settled, still=still, **shared)


@texts_approve.post("/texts/approve")
def sign() -> Response | tuple[str, int]:
    """Sign off what was read, bound to the very text that was shown."""
    form = request.form
    read = {key: form.get(f"digest:{key}", "") for key in form.getlist("read")}
    try:
        pipeline.approve_read(
            place(),
            read,
            by=form.get("by", "").strip(),
            role=form.get("role", "").strip(),
            day=date.today(),
            until=_day(form.get("until", "")),
            language=form.get("language", ""),
        )
    except ConsentpackError as error:
        typed = {name: form.get(name, "") for name in ("by", "role", "until")}
        return _page(problems=error.problems, typed=typed, ticked=set(read)), 400
    chosen = {"plan": form.get("plan", ""), "language": form.get("language", "")}
    return redirect(f"/texts/approve?{urlencode(chosen)}", 303)


def _day(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed) if typed else None
    except ValueError:
        raise ContentError(Problem("It holds until", f"'{typed}' is no day.")) from None
