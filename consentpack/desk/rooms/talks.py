"""The talk: what a patient could say back of what was told, and how well this clinic explains."""

from __future__ import annotations

from datetime import date, datetime

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response as Redirect

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.errors import ConsentpackError, PlanError, Problem

talks = Blueprint("talks", __name__, url_prefix="/patients")

ABOUT = {
    "what": "What will be done",
    "gain": "What it may gain",
    "harm": "A harm that many have, and how often",
    "serious": "A serious harm, and how often",
    "choice": "Another choice",
    "tonight": "What to do if something comes tonight",
    "ring": "Whom to ring",
}
MARKS = (
    ("said", "Said it"),
    ("again", "Said it after we explained again"),
    ("not-yet", "Not yet"),
)
GROUPED = {
    "question": "By question",
    "module": "By text",
    "language": "By language",
    "clinician": "By clinician",
}


@talks.get("/<named>/talk")
def talk(named: str) -> str:
    return _page(named, ())


def _page(named: str, problems: tuple[Problem, ...]) -> str:
    library = place().library
    return view(
        "talk.html",
        title=f"The talk about {named}",
        asking=pipeline.asked_about(place(), named),
        named=named,
        about=ABOUT,
        marks=MARKS,
        titles={id: document.title for id, document in library.documents.items()},
        people=place().clinic.people,
        today=date.today(),
        typed=request.form,
        problems=problems,
        entered=request.args.get("entered", "")[:20],
    )


@talks.post("/<named>/talk")
def enter(named: str) -> Redirect | tuple[str, int]:
    form = request.form
    marks = {question: form[f"mark-{question}"] for question in ABOUT if form.get(f"mark-{question}")}
    try:
        by = form.get("by", "").strip()
        if not by:
            raise PlanError(Problem("who held the talk", "nobody was named.", "Choose a name, or type one."))
        marking = pipeline.Marking(marks, by, _day(form.get("day", "")), datetime.now(), by)
        entered = pipeline.mark_talk(place(), named, marking)
    except ConsentpackError as error:
        return _page(named, tuple(error.problems)), 409
    return redirect(url_for("talks.talk", named=named, entered=entered.number), 303)


def _day(typed: str) -> date:
    try:
        found = date.fromisoformat(typed)
    except ValueError:
        raise PlanError(Problem("the day of the talk", f"'{typed}' is no day.", "Choose it again.")) from None
    if found > date.today():
        raise PlanError(Problem("the day of the talk", f"{found} is still to come.", "Choose it again."))
    return found


@talks.get("/talks")
def report() -> str:
    """How well we explain: no patient is named, and no talk is shown by itself."""
    found = pipeline.talk_report(place(), date.today())
    return view("talks.html", title="How well we explain", found=found, grouped=GROUPED, about=ABOUT)
