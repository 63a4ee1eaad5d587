"""The audit's pages in a clinic that keeps none: what that means, and how one is begun."""

from __future__ import annotations

from flask import request

from consentpack.desk.page import place, view

_REFUSED = 409


def keep_none() -> tuple[str, int] | None:
    """Before every page of the audit. None where there is one to show."""
    clinic = place().clinic
    if clinic.register_url:
        return None
    page = view("audit/none.html", title="This clinic keeps no audit")
    return page, 200 if request.method in ("GET", "HEAD") else _REFUSED
