"""What was sent while the desk was locked, offered to the browser that had sent it."""

from __future__ import annotations

from flask import Blueprint, current_app, redirect, request
from werkzeug.wrappers import Response

from consentpack.desk.guard import COOKIE, HELD_BACK
from consentpack.desk.held_back import HeldBack, HeldBacks
from consentpack.desk.page import view

again = Blueprint("again", __name__)
_SHOWN = 300
"""Letters of a field that are shown; all are sent."""
_UNSEEN = frozenset({"digest", "mark"})
"""Fields that only say what a form was made from."""


def _kept() -> HeldBacks:
    found: HeldBacks = current_app.extensions[HELD_BACK]
    return found


def held_back() -> HeldBack | None:
    """What is kept for the browser that asks."""
    return _kept().of(request.cookies.get(COOKIE, ""))


@again.get("/again")
def offer() -> str:
    found = held_back()
    fields = found.fields if found else ()
    shown = [(name, _short(value)) for name, value in fields if value and name not in _UNSEEN]
    return view("again.html", title="Sent while the desk was locked", kept=found, shown=shown)


def _short(value: str) -> str:
    return value if len(value) <= _SHOWN else f"{value[:_SHOWN]} …"


@again.post("/again")
def drop() -> Response:
    _kept().drop(request.cookies.get(COOKIE, ""))
    return redirect("/", 303)


@again.after_app_request
def sent(response: Response) -> Response:
    """Once its address was asked with a form again it is kept no more: it would be sent twice."""
    if request.method == "POST" and response.status_code != 401:
        found = held_back()
        if found and found.address.partition("?")[0] == request.path:
            _kept().drop(request.cookies.get(COOKIE, ""))
    return response
