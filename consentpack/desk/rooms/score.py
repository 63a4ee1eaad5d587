"""Score any form: how hard it is to read, what an editor would mend, how a Word file can be used."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock

from flask import Blueprint, Response, abort, current_app, redirect, request
from werkzeug.wrappers import Response as Answer

from consentpack import pipeline
from consentpack.accessibility import RULES as ACCESS_RULES
from consentpack.advice import RULES
from consentpack.desk.page import place, view
from consentpack.errors import ConsentpackError, Problem, ReadError

score = Blueprint("score", __name__)

KEPT = 10
"""Results that can be looked at again. They are in memory alone, and go when the desk is stopped."""
_RESULTS = "consentpack.results"


@dataclass
class Results:
    """The last results, by a word that nobody can guess."""

    _held: OrderedDict[str, pipeline.Handed] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def add(self, result: pipeline.Handed) -> str:
        word = secrets.token_urlsafe(12)
        with self._lock:
            self._held[word] = result
            while len(self._held) > KEPT:
                self._held.popitem(last=False)
        return word

    def get(self, word: str) -> pipeline.Handed:
        with self._lock:
            found = self._held.get(word)
        if found is None:
            abort(404)
        return found


def _results() -> Results:
    found: Results = current_app.extensions.setdefault(_RESULTS, Results())
    return found


@score.get("/score")
def ask() -> str:
    return _asked()


def _asked(problems: tuple[Problem, ...] = (), language: str = "") -> str:
    kinds, own = pipeline.readable(), place().clinic.language
    return view("score.html", title="Score a form", problems=problems, kinds=kinds, language=language or own)


@score.post("/score")
def handed() -> Answer | tuple[str, int]:
    """The file is read and forgotten; what was found has an address of its own."""
    file, language = request.files.get("file"), request.form.get("language", "").strip()
    opened = place()
    try:
        if file is None or not file.filename:
            raise ReadError(Problem("The file", "none was chosen.", "Choose the form, then press Score it."))
        found = pipeline.score_handed(
            file.filename,
            file.read(),
            opened.library,
            opened.clinic.reading,
            language=language or opened.clinic.language,
        )
    except ConsentpackError as error:
        return _asked(error.problems, language), 400
    return redirect(f"/score/{_results().add(found)}", 303)


@score.get("/score/<word>")
def result(word: str) -> str:
    found = _results().get(word)
    return view(
        "score_result.html",
        title=found.name,
        word=word,
        handed=found,
        read=found.read,
        score=found.read.score,
        scale=pipeline.hardest(found.read.score),
        rules=RULES,
        access=list(pipeline.by_rule(found.findings or ())),
        access_rules=ACCESS_RULES,
    )


@score.get("/score/<word>/page")
def page(word: str) -> Response:
    """The result as a page by itself, to keep or to hand on."""
    found = _results().get(word)
    answer = Response(pipeline.report_page(found), mimetype="text/html")
    answer.headers.set("Content-Disposition", "attachment", filename=f"reading {found.name}.html")
    return answer
