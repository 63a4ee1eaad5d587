"""The library: every text by kind, and the page of each as its readers have it."""

from __future__ import annotations

from datetime import date
from itertools import groupby

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.advice import RULES
from consentpack.desk.page import place, view
from consentpack.errors import ConsentpackError, Problem

texts = Blueprint("texts", __name__)

_NO_KIND = Problem("Kind", "none was chosen.", "Choose what the text is about.")
KINDS = {
    "techniques": "technique", "risks": "risk", "benefits": "benefit", "options": "option",
    "factors": "factor", "aftercare": "aftercare", "warnings": "warning", "documents": "document",
}  # fmt: skip
"""Folder -> what one module of it is called, as in `library new`."""


@texts.get("/texts")
def shelf() -> str:
    """Every text by kind, those of one language and those that are looked for."""
    opened, sought = place(), request.args.get("q", "").strip()
    tag = request.args.get("language") or opened.clinic.language
    states = {
        row.state.module: row for row in pipeline.library_status(opened, today=date.today(), languages=(tag,))
    }
    found = [
        (f, m) for f, m in opened.library.modules() if sought.casefold() in f"{m.title} {m.id}".casefold()
    ]
    return view(
        "texts.html",
        title="Texts",
        kinds=[(folder, list(group)) for folder, group in groupby(found, key=lambda pair: pair[0])],
        states=states,
        aside=opened.library.set_aside,
        without=sorted(opened.library.without),
        tables=[row for key, row in states.items() if key.startswith("tables/")],
        sought=sought,
        language=tag,
        own=opened.clinic.language,
        languages=pipeline.languages_of(opened),
    )


@texts.get("/texts/<folder>/<id>")
def one(folder: str, id: str) -> str | Response:
    """One text as patients will read it, with all that is known of it."""
    opened, tag = place(), request.args.get("language", "")
    if f"{folder}/{id}" in opened.library.set_aside:
        return redirect(f"/texts/{folder}/{id}/edit", 302)
    if folder == "tables":
        return _table(id)
    _, module = pipeline.find_module(opened.library, f"{folder}/{id}")
    catalogue = pipeline.language_of(opened, tag or opened.clinic.language)
    day = date.today()
    rows = pipeline.library_report(
        opened.library, opened, ids=[f"{folder}/{id}"], languages=[catalogue.language]
    )
    states = pipeline.library_status(opened, today=day, languages=(catalogue.language,))
    return view(
        "text.html",
        title=catalogue.block(module.title).text if tag else module.title,
        folder=folder,
        module=module,
        own_file=not module.file.startswith("content/"),
        catalogue=catalogue,
        own=opened.clinic.language,
        parts=pipeline.as_read(opened, module, catalogue),
        report=rows[0] if rows else None,
        scale=pipeline.hardest(rows[0].score) if rows else 1.0,
        rules=RULES,
        row=next((row for row in states if row.state.module == f"{folder}/{id}"), None),
        uses=pipeline.where_used(opened, folder, id),
        translations=pipeline.translations_of(opened, module, day),
        sources=opened.library.sources,
    )


def _table(id: str) -> str:
    opened = place()
    lines = pipeline.table_lines(opened, id)
    rows = pipeline.library_status(opened, today=date.today(), languages=(opened.clinic.language,))
    row = next((row for row in rows if row.state.module == f"tables/{id}"), None)
    title = id.replace("-", " ").capitalize()
    return view("text_table.html", title=title, lines=lines, row=row)


@texts.get("/texts/new")
def ask_new() -> str:
    return _asked_new()


def _asked_new(**more: object) -> str:
    return view("text_new.html", title="A new text", kinds=KINDS.values(), **more)


@texts.post("/texts/new")
def new() -> Response | tuple[str, int]:
    """Begin a text from the template of its kind, as `library new` does."""
    kind, name = request.form.get("kind", ""), request.form.get("name", "").strip()
    folder = next((folder for folder, each in KINDS.items() if each == kind), "")
    if not folder:
        return _asked_new(name=name, problems=[_NO_KIND]), 400
    try:
        pipeline.new_module(place(), kind, name)
    except ConsentpackError as error:
        return _asked_new(kind=kind, name=name, problems=error.problems), 400
    return redirect(f"/texts/{folder}/{name}/edit", 303)
