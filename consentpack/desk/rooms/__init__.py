"""The rooms of the desk, one module each: pages about one thing, and what can be done there."""

from __future__ import annotations

from consentpack.desk.rooms.audit import audit
from consentpack.desk.rooms.audit_due import audit_due
from consentpack.desk.rooms.audit_entry import audit_entry
from consentpack.desk.rooms.audit_rates import audit_rates
from consentpack.desk.rooms.audit_sheet import audit_sheet
from consentpack.desk.rooms.new_plan import new_plan
from consentpack.desk.rooms.patients import patients
from consentpack.desk.rooms.score import score
from consentpack.desk.rooms.talks import talks
from consentpack.desk.rooms.texts import texts
from consentpack.desk.rooms.texts_approve import texts_approve
from consentpack.desk.rooms.texts_edit import texts_edit
from consentpack.desk.rooms.today import today

ROOMS = (
    today,
    audit,
    audit_due,
    audit_entry,
    audit_rates,
    audit_sheet,
    new_plan,
    patients,
    score,
    talks,
    texts,
    texts_approve,
    texts_edit,
)
"""Blueprints, in the order in which addresses are looked for."""
