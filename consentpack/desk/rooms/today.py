"""The first page: what needs somebody."""

from __future__ import annotations

from flask import Blueprint

from consentpack.desk.page import place, view

today = Blueprint("today", __name__)


@today.get("/")
def first() -> str:
    return view("today.html", title="Today", clinic=place().clinic)
