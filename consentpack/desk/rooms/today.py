"""The first page: what needs somebody, the worst first, each with where it is mended; and backups."""

from __future__ import annotations

from datetime import date, datetime
from urllib.parse import quote, urlencode

from flask import Blueprint, current_app, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.desk.later import Later
from consentpack.desk.page import here, place, view

today = Blueprint("today", __name__)

WAIT_SECONDS = 0.4
"""How long the page waits for what is being counted; it is shown without it then, and says so."""
_COUNTED = "consentpack.counted"
_MENDED_AT = {
    "text": "/texts/{id}",
    "texts": "/texts",
    "approvals": "/texts/approve?{language}",
    "language": "/texts?{language}",
    "plan": "/patients/{id}",
    "audit": "/audit",
    "due": "/audit/due",
    "rates": "/audit/rates",
    "backup": "/#backup",
}
"""What something is about -> the address at which it is mended."""


@today.get("/")
def first() -> str:
    found, counting = _needs()
    return view(
        "today.html",
        title="Today",
        clinic=place().clinic,
        groups=pipeline.grouped(found),
        mended_at=mended_at,
        counting=counting,
        saved=pipeline.last_backup(here().folder),
    )


def _needs() -> tuple[list[pipeline.Need], bool]:
    """All that is known by now; and whether the rest is still being counted."""
    opened, day = place(), date.today()
    counted: Later[tuple[pipeline.Need, ...]] = current_app.extensions.setdefault(_COUNTED, Later())
    more = counted.get(
        lambda: (day, pipeline.seen_for_counting(opened)),
        lambda: pipeline.counted_needs(opened, day),
        wait=_wait(),
    )
    return [*pipeline.needs_at_hand(opened, day), *(more or ())], more is None


def _wait() -> float:
    """Whoever asks to look again has time."""
    return 60.0 if "again" in request.args else WAIT_SECONDS


def mended_at(need: pipeline.Need) -> str:
    """The address at which something is mended."""
    language = urlencode({"language": need.id})
    return _MENDED_AT[need.about].format(id=quote(need.id, safe="/"), language=language)


@today.post("/backup")
def save() -> Response:
    """Save the clinic folder into backups/, as the command does."""
    pipeline.backup(here().folder, None, now=datetime.now(), progress=lambda _: None)
    return redirect("/#backup", 303)
