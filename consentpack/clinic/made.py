"""The settings as the program holds them, from what clinic.toml says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from consentpack.clinic.folder import register_url
from consentpack.clinic.keys import DEFAULT_REGISTER, DEFAULT_WINDOW_MONTHS, NO_AUDIT
from consentpack.clinic.written_rows import header_rows
from consentpack.model import Brand, Clinic, ConsentRule, ConsentRules, ReadingRules, WatchRules
from consentpack.normal import place


def made(data: Mapping[str, Any], folder: Path, rules: Mapping[str, ConsentRule], look: Brand) -> Clinic:
    """Settings in which nothing is wrong, as a value."""
    clinic, audit, groups = data["clinic"], data.get("audit", NO_AUDIT), data.get("groups", {})
    if data.get("brand", {}).get("address"):
        look = replace(look, letterhead=(", ".join(clinic["address"]), clinic["phone"]))
    return Clinic(
        name=clinic["name"],
        address=tuple(clinic["address"]),
        phone=clinic["phone"],
        phone_out_of_hours=clinic["phone_out_of_hours"],
        hours=clinic["hours"],
        emergency_number=clinic["emergency_number"],
        language=clinic.get("language", "en-GB"),
        invented=clinic.get("invented", False),
        brand=look,
        consent=_consent(data.get("consent", {}), rules),
        watch=_watch(data["watch"]) if "watch" in data else None,
        reading=_reading(data.get("readability", {})),
        length=data.get("length", {}),
        window_months=data.get("rates", {}).get("window_months", DEFAULT_WINDOW_MONTHS),
        # plans and audit are read in small letters; a group must match them however it is typed
        site_groups={place(site): g for site, g in _by_member(groups.get("sites", {})).items()},
        stratum_groups={id: _by_member(found) for id, found in groups.items() if id != "sites"},
        care=data.get("care", {}),
        audit_columns=audit.get("columns", {}),
        audit_words=audit.get("words", {}),
        list_covers=tuple(audit.get("list_covers", ())),
        date_order=audit.get("dates"),
        audit_sheet=audit.get("sheet", ""),
        header_rows=header_rows(audit.get("header_row", "")) or (),
        people=tuple(data.get("desk", {}).get("people", ())),
        register_url=register_url(audit.get("register", DEFAULT_REGISTER), folder),
    )


def _consent(consent: Mapping[str, Any], rules: Mapping[str, ConsentRule]) -> ConsentRules:
    rule = rules.get(consent.get("rules", ""))
    if rule is None:
        return ConsentRules()
    purposes = consent.get("photographs", ConsentRules.photographs)
    return ConsentRules(
        rule=rule.id,
        wait_days=consent.get("wait_days", rule.wait_days),
        minimum_age=consent.get("minimum_age", rule.minimum_age),
        taken_by=consent.get("taken_by", rule.taken_by),
        photographs=tuple(purposes),
    )


def _reading(reading: Mapping[str, Any]) -> ReadingRules:
    return ReadingRules(
        target=reading.get("target", reading.get("target_grade", "")),
        documents=reading.get("documents", {}),
        languages=reading.get("languages", {}),
    )


def _watch(watch: Mapping[str, Any]) -> WatchRules:
    return WatchRules(**{**watch, "adjust_for": tuple(watch.get("adjust_for", ()))})


def _by_member(groups: Mapping[str, list[str]]) -> dict[str, str]:
    return {member: name for name, members in groups.items() for member in members}
