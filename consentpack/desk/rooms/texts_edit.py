"""Changing one text, with the editor's help beside it. What is written is a file of the clinic's own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.advice import RULES
from consentpack.desk.page import place, view
from consentpack.errors import ContentError

texts_edit = Blueprint("texts_edit", __name__)


@dataclass(frozen=True)
class Typed:
    """What came with the form."""

    text: str
    opened: str
    """The text as it was when the page was opened."""

    @classmethod
    def of_form(cls) -> Typed:
        return cls(_lines(request.form.get("text", "")), _lines(request.form.get("opened", "")))


def _lines(text: str) -> str:
    """Forms end their lines as no file here does."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


@texts_edit.get("/texts/<folder>/<id>/edit")
def edit(folder: str, id: str) -> str:
    found = pipeline.text_to_edit(place(), folder, id)
    return _page(found, Typed(found.text, found.text), problems=found.problems)


@texts_edit.post("/texts/<folder>/<id>/edit")
def change(folder: str, id: str) -> Response | str | tuple[str, int]:
    """Look a text over, put a suggestion in, or write it."""
    typed = Typed.of_form()
    if "take" in request.form:
        return _page(pipeline.text_to_edit(place(), folder, id), _with_suggestion(folder, id, typed))
    if request.form.get("do") == "look":
        return _page(pipeline.text_to_edit(place(), folder, id), typed)
    return _written(folder, id, typed)


def _with_suggestion(folder: str, id: str, typed: Typed) -> Typed:
    """The suggestion by its own words: what was typed since the page was made may have moved it."""
    read = pipeline.look_over(place(), folder, id, typed.text).read
    wanted = request.form["take"]
    for remark in read.remarks if read else ():
        if _name(remark.rule, remark.text, remark.found) == wanted:
            return Typed(pipeline.taken(typed.text, remark), typed.opened)
    return typed


def _name(*words: str) -> str:
    return "\t".join(words)


def _written(folder: str, id: str, typed: Typed) -> Response | tuple[str, int]:
    opened, anyway = place(), request.form.get("do") == "anyway"
    try:
        done = pipeline.save_text(opened, folder, id, typed.text, opened=typed.opened, with_mistakes=anyway)
    except ContentError:  # they are found again, and told, by the page
        return _page(pipeline.text_to_edit(opened, folder, id), typed, refused=True), 400
    if done.meanwhile is not None:
        found = pipeline.text_to_edit(opened, folder, id)
        changes = pipeline.compared(typed.opened.splitlines(), done.meanwhile.splitlines())
        # saved once more it is written over what was shown
        return _page(found, Typed(typed.text, done.meanwhile), meanwhile=changes, refused=True), 409
    return redirect(f"/texts/{folder}/{id}", 303)


def _page(found: pipeline.Editable, typed: Typed, **more: Any) -> str:
    looked = pipeline.look_over(place(), found.folder, found.id, typed.text)
    read = looked.read
    before = pipeline.look_over(place(), found.folder, found.id, typed.opened).read

    def takes(remark: Any) -> str | None:
        fits = pipeline.taken(typed.text, remark) != typed.text
        return _name(remark.rule, remark.text, remark.found) if fits else None

    more["problems"] = looked.problems
    return view(
        "text_edit.html",
        title=f"Change {found.key}",
        found=found,
        typed=typed,
        looked=looked,
        read=read,
        before=before,
        scale=pipeline.hardest(read.score) if read else 1.0,
        rules=RULES,
        takes=takes,
        unsaved=typed.text != typed.opened,
        **more,
    )
