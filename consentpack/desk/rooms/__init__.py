"""The rooms of the desk, one module each: pages about one thing, and what can be done there."""

from __future__ import annotations

from consentpack.desk.rooms.new_plan import new_plan
from consentpack.desk.rooms.patients import patients
from consentpack.desk.rooms.today import today

ROOMS = (today, new_plan, patients)
"""Blueprints, in the order in which addresses are looked for."""
