"""Published checklists: how the plans of a clinic stand to them, or the shipped library by itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from consentpack import shipped
from consentpack.catalogues import load
from consentpack.check.checklists import report, with_holders
from consentpack.library import Library
from consentpack.model import Clinic, ItemResult, Plan, ReadingRules, Technique
from consentpack.pipeline.deciding import counted, matched, seen_by
from consentpack.pipeline.drafting import draft
from consentpack.pipeline.judging import held, scores_of
from consentpack.pipeline.packs import judge_plan
from consentpack.pipeline.place import Workplace, plan_files
from consentpack.pipeline.prepare import Prepared, Wanted
from consentpack.pipeline.registers import Audit

SAMPLE_CLINIC = Clinic(
    name="Sample clinic (invented)",
    address=("1 Sample Street",),
    phone="020 7946 0001",
    phone_out_of_hours="020 7946 0002",
    hours="Monday to Friday, 9 to 5",
    emergency_number="999",
    language="en-GB",
    reading=ReadingRules(),
    window_months=36,
    site_groups={},
    stratum_groups={},
    care={},
    audit_columns={},
    audit_words={},
    list_covers=(),
    date_order="day-first",
    register_url="",
    invented=True,
)
"""An invented clinic without an audit; its numbers are of the range kept for drama in the UK."""


def checklists_of_plans(place: Workplace) -> Iterator[tuple[str, tuple[ItemResult, ...]]]:
    """Every plan of a clinic folder by its reference, with how its pack stands."""
    for path in plan_files(place):
        judged = judge_plan(place, path)
        yield judged.plan.reference, judged.checklists


def checklists_of_library(library: Library) -> Iterator[tuple[str, tuple[ItemResult, ...]]]:
    """Every technique that treats, with how a pack for it alone stands. No clinic is needed."""
    for id in library.treating:
        yield id, _judged(library, sample_plan(library, library.techniques[id]))


def sample_plan(library: Library, technique: Technique) -> Plan:
    """One technique with the first anaesthetic it names, for nobody in particular."""
    words = library.field.sample
    return Plan(
        reference=f"SAMPLE-{technique.id}",
        prepared=technique.reviewed,
        language=SAMPLE_CLINIC.language,
        planned=(technique.id, *technique.anaesthetics[:1]),
        site=words["site"],
        region=next((r.id for r in library.regions.values() if words["site"] in r.words), ""),
        strata={},
        sessions=1,
        condition=words["condition"],
        indication=technique.indications[0] if technique.indications else "",
        reason=words["reason"],
        clinician="Dr Sample",
        clinician_role=words["clinician_role"],
        experience="Dr Sample has done it 10 times." if technique.standing == "newer" else "",
        follow_up="8 weeks after the treatment",
        file="sample plan",
    )


def _judged(library: Library, plan: Plan) -> tuple[ItemResult, ...]:
    place = Workplace(Path(), SAMPLE_CLINIC, library)
    catalogue = load(plan.language, shipped.locales_for(library.shipped_field), where=plan.file)
    prepared = Prepared(place, Wanted(plan.prepared), plan, catalogue, catalogue, (), {})
    seen = seen_by(plan, library)
    decided = counted(prepared, seen, matched(prepared, seen), Audit(None, {}))
    drafted = draft(prepared, decided)
    pack = held(prepared, decided, drafted, scores_of(place, drafted))
    return with_holders(pack, report(pack))
