"""The rooms of the desk, one module each: pages about one thing, and what can be done there."""

from __future__ import annotations

from consentpack.desk.rooms.patients import patients
from consentpack.desk.rooms.today import today

ROOMS = (today, patients)
"""Blueprints, in the order in which addresses are looked for."""
