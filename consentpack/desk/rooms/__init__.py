"""The rooms of the desk, one module each: pages about one thing, and what can be done there."""

from __future__ import annotations

from consentpack.desk.rooms.audit import audit
from consentpack.desk.rooms.audit_entry import audit_entry
from consentpack.desk.rooms.audit_rates import audit_rates
from consentpack.desk.rooms.audit_sheet import audit_sheet
from consentpack.desk.rooms.new_plan import new_plan
from consentpack.desk.rooms.patients import patients
from consentpack.desk.rooms.today import today

ROOMS = (today, new_plan, patients, audit, audit_sheet, audit_rates, audit_entry)
"""Blueprints, in the order in which addresses are looked for."""
