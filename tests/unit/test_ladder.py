"""From rows of a register to the figure that is quoted, and to why closer ones were not.

Each test reads: the plan, the rows of the clinic's audit, the answer. Techniques, outcomes, watching
times and printed figures are those of the shipped library; clinics, patients and rows are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from support import empty, load

from consentpack import shipped
from consentpack.clinic import load_clinic
from consentpack.library import load_library
from consentpack.match import match
from consentpack.model import Clinic, Counts, Plan, PublishedRate, RateAnswer, ReadingRules
from consentpack.rates import answer_all
from consentpack.rates.counting import window_of
from consentpack.rates.intervals import wilson
from consentpack.register import Comparison, Reading, Tally, Window, tally

LIBRARY = load_library(shipped.content())
CANNULA, FAN, FILLER = "blunt-cannula", "needle-fan-one-entry", "filler-after-release"
INJECTION, BLOCK = "local-infiltration", "nerve-block-face"
OUTCOMES = ("bruising", "infection", "bleeding", "anaesthetic-toxicity", "vessel-blockage", "less-pulling")
COLUMNS = ("case", "session", "date", "techniques", "site", "skin_type", "last_seen", *OUTCOMES)

CLINIC = Clinic(
    name="Invented Clinic", address=("1 Invented Road",), phone="020 7946 0101",
    phone_out_of_hours="020 7946 0199", hours="9 to 5", emergency_number="999", language="en-GB",
    reading=ReadingRules(), window_months=36, care={}, audit_columns={}, audit_words={}, list_covers=(),
    date_order="year-first", register_url="", invented=True,
    site_groups={"left cheek": "cheeks", "right cheek": "cheeks"},
    stratum_groups={"skin_type": {
        "I": "lighter", "II": "lighter", "III": "lighter", "IV": "darker", "V": "darker",
    }},
)  # fmt: skip
PLAN = Plan(
    reference="INV-1", prepared=date(2026, 11, 20), language="en-GB", planned=(CANNULA, INJECTION),
    site="left cheek", region="cheek",
    strata={"skin_type": "III"}, sessions=1, condition="invented", reason="invented",
    clinician="invented", clinician_role="invented",
)  # fmt: skip


def rows(number: int, *, of=CANNULA, site="left cheek", skin="III", day="2026-03-02", last_seen="2026-11-02",
         **seen: int | None) -> list[str]:  # fmt: skip
    """`number` alike rows of the audit; bruising=10 means: yes in 10 of them, no in the others.

    An outcome that is not named, or is None, is left blank.
    """
    made = []
    for at in range(number):
        cells = {"date": day, "techniques": of, "site": site, "skin_type": skin, "last_seen": last_seen}
        for outcome, events in seen.items():
            if events is not None:
                cells[outcome.replace("_", "-")] = "yes" if at < events else "no"
        made.append(",".join(cells.get(column, "") for column in COLUMNS[2:]))
    return made


READING = Reading(
    "year-first", frozenset(LIBRARY.techniques), frozenset(LIBRARY.outcomes), LIBRARY.field.strata
)  # fmt: skip


@pytest.fixture
def answers(tmp_path):
    """What is known of each outcome of a plan: answers(rows, plan, clinic, library)."""

    def answered(
        audit: list[str], plan: Plan = PLAN, clinic: Clinic = CLINIC, library=LIBRARY
    ) -> dict[str, RateAnswer]:
        lines = [f"C-{number},1,{row}" for number, row in enumerate(audit)]
        register = empty(f"sqlite:///{tmp_path / 'register.sqlite'}")
        result = load(register, "\n".join([",".join(COLUMNS), *lines]), reading=READING)
        assert result.added == len(audit)

        def source(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
            with register.connect() as connection:
                return tally(connection, comparison, window, watch_days)

        return answer_all(plan, library, clinic, match(plan, library), source)

    return answered


def numbers(counts: Counts) -> tuple[int, int, int, int]:
    return (counts.events, counts.watched, counts.due, counts.due_watched)


def whys(answer: RateAnswer) -> list[tuple[str, str]]:
    return [(item.level, item.why) for item in answer.rejected]


def figure(answer: RateAnswer) -> tuple[str, int, int] | None:
    return (answer.rate.level, answer.rate.events, answer.rate.n) if answer.rate else None


# --- each rung ------------------------------------------------------------------------------------


def test_same_site_and_skin_is_quoted_when_it_is_reliable(answers):
    answer = answers(
        rows(60, site="left cheek", skin="III", bruising=12)
        + rows(40, site="right cheek", skin="I", bruising=8)  # the other cheek and lighter skin: grouped
        + rows(90, site="chin", bruising=80)
        + rows(90, skin="IV", bruising=80)
    )["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    assert answer.rejected == ()
    assert answer.rate.interval == wilson(20, 100)
    assert (answer.rate.source, answer.rate.unit) == ("own audit", "treatments")


def test_same_techniques_anywhere_is_next(answers):
    answer = answers(rows(10, bruising=1) + rows(90, site="chin", skin="V", bruising=19))["bruising"]
    assert figure(answer) == ("same-techniques", 20, 100)
    assert whys(answer) == [("closest", "only 10 treatments; at least 30 are needed")]
    assert numbers(answer.rejected[0].counts) == (1, 10, 10, 10)


def test_the_leading_technique_in_any_combination_is_next(answers):
    answer = answers(rows(10, bruising=1) + rows(90, of=f"{CANNULA};{FILLER}", bruising=19))["bruising"]
    assert figure(answer) == ("lead-technique", 20, 100)
    assert [level for level, _ in whys(answer)] == ["closest", "same-techniques"]


def test_a_published_figure_is_next(answers):
    answer = answers(rows(20, infection=0))["infection"]
    assert figure(answer) == ("published", 18, 2209)
    assert answer.rate.source == "dixon2006"
    assert whys(answer) == [
        (level, "only 20 treatments; at least 30 are needed")
        for level in ("closest", "same-techniques", "lead-technique")
    ]
    assert answer.beside is None


def test_when_there_is_nothing_reliable_no_figure_is_made_up(answers):
    answer = answers(rows(20, bruising=4))["bruising"]  # no printed bruising figure has counts
    assert answer.rate is None
    assert whys(answer)[-1] == ("published", "no published figure that may be quoted")
    assert len(answer.rejected) == 4


def test_without_an_audit_the_published_figure_is_quoted_and_says_why():
    found = answer_all(PLAN, LIBRARY, CLINIC, match(PLAN, LIBRARY), None)
    assert figure(found["infection"]) == ("published", 18, 2209)
    assert whys(found["infection"]) == [("same-techniques", "this clinic keeps no audit")]
    assert found["bruising"].rate is None


def test_every_matched_risk_and_benefit_gets_an_answer(answers):
    matched = match(PLAN, LIBRARY)
    found = answers(rows(3, bruising=1))
    assert set(found) == {each.id for each in (*matched.risks, *matched.benefits)}


def test_the_published_figure_stands_beside_an_own_one(answers):
    answer = answers(rows(300, infection=3))["infection"]
    assert figure(answer) == ("closest", 3, 300)
    assert (answer.beside.events, answer.beside.n) == (18, 2209)


# --- which treatments are comparable --------------------------------------------------------------


def test_the_way_the_area_was_numbed_does_not_split_the_bruises_of_a_release(answers):
    answer = answers(
        rows(50, of=f"{CANNULA};{INJECTION}", bruising=10) + rows(50, of=f"{CANNULA};{BLOCK}", bruising=10)
    )["bruising"]
    assert figure(answer) == ("closest", 20, 100)


def test_anaesthetic_risks_are_compared_by_anaesthetic_whatever_else_was_done(answers):
    answer = answers(
        rows(150, of=f"{CANNULA};{INJECTION}", anaesthetic_toxicity=1)
        + rows(150, of=f"{FAN};{INJECTION}", anaesthetic_toxicity=1)
        + rows(150, of=f"{CANNULA};{BLOCK}", anaesthetic_toxicity=9)
    )["anaesthetic-toxicity"]
    assert answer.technique == INJECTION
    assert figure(answer) == ("closest", 2, 300)


def test_two_anaesthetics_together_are_not_the_same_as_one(answers):
    answer = answers(rows(150, of=f"{CANNULA};{INJECTION};{BLOCK}", anaesthetic_toxicity=1))
    assert figure(answer["anaesthetic-toxicity"]) == ("lead-technique", 1, 150)


def test_a_risk_both_release_and_anaesthetic_bring_is_compared_by_the_one_named_first(answers):
    audit = rows(100, of=f"{CANNULA};{INJECTION}", bruising=20)
    assert answers(audit)["bruising"].technique == CANNULA


def test_an_adjunct_makes_it_another_treatment(answers):
    plan = replace(PLAN, planned=(CANNULA, FILLER, INJECTION), experience="invented")
    audit = rows(100, of=f"{CANNULA};{FILLER}", bruising=40) + rows(100, of=CANNULA, bruising=10)
    assert figure(answers(audit, plan)["bruising"]) == ("closest", 40, 100)


def test_a_site_in_no_group_is_compared_with_itself_only(answers):
    plan = replace(PLAN, site="chin")
    audit = rows(100, site="chin", bruising=20) + rows(100, site="left cheek", bruising=60)
    assert figure(answers(audit, plan)["bruising"]) == ("closest", 20, 100)


def test_sites_may_be_written_with_capitals_in_the_groups_of_the_clinic(answers, tmp_path):
    (tmp_path / "clinic.toml").write_text(
        '[clinic]\nname = "Invented"\naddress = ["1 Invented Road"]\nphone = "020 7946 0101"\n'
        'phone_out_of_hours = "020 7946 0199"\nhours = "9 to 5"\nemergency_number = "999"\n'
        '[audit]\ndates = "year-first"\n'
        '[groups.sites]\n"cheeks" = ["Left cheek", "Right cheek"]\n'
        '[groups.skin_type]\n"lighter" = ["I", "II", "III"]\n'
    )
    clinic = load_clinic(tmp_path, LIBRARY)
    audit = rows(50, site="Left cheek", bruising=10) + rows(50, site="Right cheek", bruising=10)
    assert figure(answers(audit, clinic=clinic)["bruising"]) == ("closest", 20, 100)


def test_skin_that_was_not_recorded_is_not_taken_for_the_patients_own(answers):
    audit = rows(100, skin="", bruising=20) + rows(30, skin="V", bruising=0)
    answer = answers(audit)["bruising"]
    assert figure(answer) == ("same-techniques", 20, 130)
    assert whys(answer) == [("closest", "no treatment was watched for this")]
    assert answer.without == ()


def test_a_stratum_nobody_recorded_is_left_out_and_never_said_to_have_found_no_treatment(answers):
    answer = answers(rows(100, skin="", bruising=20))["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    assert whys(answer) == []
    assert answer.without == ("compared without skin type: the register holds none",)


def test_a_plan_without_a_stratum_is_compared_without_it(answers):
    answer = answers(rows(100, skin="V", bruising=20), replace(PLAN, strata={}))["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    assert answer.without == ("compared without skin type: the plan does not say it",)


def test_only_treatments_of_the_clinics_window_count(answers):
    audit = (
        rows(40, day="2023-11-19", bruising=40)  # a day too early
        + rows(50, day="2023-11-20", bruising=10)  # 36 months before the plan
        + rows(50, day="2026-10-01", bruising=10)
        + rows(40, day="2026-11-21", last_seen="", bruising=40)  # after the plan
    )
    answer = answers(audit)["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    assert (answer.rate.first, answer.rate.last) == (date(2023, 11, 20), date(2026, 10, 1))


@pytest.mark.parametrize(
    ("day", "months", "first"),
    [
        (date(2026, 11, 20), 36, date(2023, 11, 20)),
        (date(2026, 1, 15), 1, date(2025, 12, 15)),
        (date(2026, 12, 31), 12, date(2025, 12, 31)),
        (date(2026, 3, 31), 1, date(2026, 2, 28)),
        (date(2028, 3, 31), 1, date(2028, 2, 29)),
        (date(2028, 2, 29), 12, date(2027, 2, 28)),
    ],
)
def test_a_window_ends_on_the_day_and_begins_whole_months_earlier(day, months, first):
    assert window_of(day, months) == Window(first, day)


# --- watched, lost, blank -------------------------------------------------------------------------


def test_only_treatments_watched_long_enough_are_in_the_denominator(answers):
    # bruising needs 14 days (content/risks/bruising.md)
    audit = rows(95, last_seen="2026-03-16", bruising=20) + rows(5, last_seen="2026-03-15", bruising=0)
    answer = answers(audit)["bruising"]
    assert figure(answer) == ("closest", 20, 95)


def test_blank_is_never_counted_as_no(answers):
    answer = answers(rows(100, bruising=20) + rows(25, bruising=None))["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    assert numbers(answer.rate.counts) == (20, 100, 125, 100)


def test_losing_over_20_percent_blocks_the_figure(answers):
    answer = answers(rows(100, bruising=20) + rows(26, last_seen="", bruising=0))["bruising"]
    assert answer.rate is None
    assert whys(answer)[0] == (
        "closest",
        "26 of 126 treatments were not followed up (21%); over 20% is too many to judge",
    )


@pytest.mark.parametrize(("lost", "warned"), [(5, False), (6, True), (25, True)])
def test_losing_5_to_20_percent_warns(answers, lost, warned):
    answer = answers(rows(100, bruising=20) + rows(lost, last_seen="", bruising=0))["bruising"]
    assert figure(answer) == ("closest", 20, 100)
    expected = (f"{lost} of {100 + lost} treatments were not followed up ({lost / (100 + lost):.0%})",)
    assert answer.warnings == (expected if warned else ())


def test_a_wider_comparison_with_good_follow_up_serves_when_the_closest_lost_too_many(answers):
    audit = (
        rows(30, bruising=6)
        + rows(20, last_seen="", bruising=0)  # 40% lost here
        + rows(200, site="chin", bruising=40)  # 8% lost in all
    )
    answer = answers(audit)["bruising"]
    assert figure(answer) == ("same-techniques", 46, 230)
    assert answer.warnings == ("20 of 250 treatments were not followed up (8%)",)


# --- none seen ------------------------------------------------------------------------------------


def test_none_seen_in_72_is_quoted_with_room_above_it(answers):
    answer = answers(rows(72, bruising=0))["bruising"]
    assert figure(answer) == ("closest", 0, 72)
    assert answer.rate.interval.low == 0
    assert answer.rate.interval.high > 3 / 72  # rule of three, Hanley and Lippman-Hand 1983


def test_none_seen_in_71_is_not_quoted(answers):
    answer = answers(rows(71, bruising=0))["bruising"]
    assert answer.rate is None
    assert "too open" in whys(answer)[0][1]


# --- worse than the paper -------------------------------------------------------------------------


def test_a_thin_own_figure_worse_than_the_published_one_is_told(answers):
    # published: 18 of 2209; Fisher's exact test of 2 of 20 against it: .013
    answer = answers(rows(20, infection=2))["infection"]
    assert figure(answer) == ("published", 18, 2209)
    assert numbers(answer.own_worse.counts) == (2, 20, 20, 20)


@pytest.mark.parametrize("events", [0, 1])
def test_a_thin_own_figure_that_chance_explains_is_not_called_worse(answers, events):
    # one infection in 20 against 18 of 2209: .16
    assert answers(rows(20, infection=events))["infection"].own_worse is None


def test_of_several_thin_figures_that_are_worse_the_closest_is_told(answers):
    audit = rows(10, infection=2) + rows(10, site="chin", infection=1) + rows(5, of=f"{CANNULA};{FILLER}",
        infection=1)  # fmt: skip
    answer = answers(audit)["infection"]
    assert (answer.own_worse.level, answer.own_worse.counts.events, answer.own_worse.counts.watched) == (
        "closest",
        2,
        10,
    )
    assert [each.level for each in answer.worse] == ["closest", "same-techniques", "lead-technique"]


def test_a_figure_blocked_for_lost_patients_is_told_too_when_it_is_worse(answers):
    answer = answers(rows(100, infection=20) + rows(40, last_seen="", infection=0))["infection"]
    assert answer.rate.level == "published"
    assert numbers(answer.own_worse.counts) == (20, 100, 140, 100)
    assert "too many to judge" in answer.own_worse.why


def test_a_reliable_own_figure_is_quoted_itself_however_bad(answers):
    answer = answers(rows(100, infection=20))["infection"]
    assert figure(answer) == ("closest", 20, 100)
    assert answer.own_worse is None
    assert answer.beside.level == "published"


def test_with_no_published_figure_there_is_nothing_to_be_worse_than(answers):
    answer = answers(rows(20, bruising=20))["bruising"]
    assert (answer.rate, answer.own_worse) == (None, None)
    assert answer.rejected[0].counts.events == 20


PRINTED_BENEFIT = PublishedRate(
    id="invented", technique=CANNULA, outcome="less-pulling", factor="", events=70, n=100, unit="people",
    population="invented people", follow_up="6 months (invented)", source="invented-source",
    seen="abstract", caveat="invented", watched_days=180,
)  # fmt: skip


@pytest.mark.parametrize(("events", "worse"), [(3, True), (4, False), (10, False)])
def test_a_thin_own_benefit_that_is_worse_than_the_published_one_is_told(answers, events, worse):
    # against 70 of 100: 3 of 10 has P .016, 4 of 10 .061
    library = replace(LIBRARY, published=(PRINTED_BENEFIT,))
    answer = answers(rows(10, less_pulling=events), library=library)["less-pulling"]
    assert figure(answer) == ("published", 70, 100)
    assert bool(answer.own_worse) is worse


def test_of_several_techniques_the_least_favourable_printed_figure_is_quoted():
    other = replace(PRINTED_BENEFIT, technique=FAN, events=50)
    library = replace(LIBRARY, published=(PRINTED_BENEFIT, other))
    plan = replace(PLAN, planned=(CANNULA, FAN, INJECTION), experience="invented")
    brings = next(each for each in match(plan, library).benefits if each.id == "less-pulling")
    assert {CANNULA, FAN} <= set(brings.techniques)
    found = answer_all(plan, library, CLINIC, match(plan, library), None)
    assert figure(found["less-pulling"]) == ("published", 50, 100)


# --- printed figures through the ladder -----------------------------------------------------------


def test_a_patient_on_blood_thinners_is_quoted_the_figure_for_blood_thinners(answers):
    thin = rows(5, bleeding=0)
    assert figure(answers(thin)["bleeding"]) == ("published", 265, 21696)
    plan = replace(PLAN, factors=("blood-thinners",))
    found = answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), None)
    assert figure(found["bleeding"]) == ("published", 323, 9214)


def test_the_own_figure_is_tested_against_the_figure_for_the_patients_factor():
    plan = replace(PLAN, factors=("blood-thinners",))
    counts = Counts(events=2, watched=20, due=20, due_watched=20)

    def source(comparison, window, watch_days):
        return Tally(20, date(2026, 3, 2), date(2026, 3, 2), dict.fromkeys(watch_days, counts))

    # two in 20: .025 against 265 of 21696 and .16 against 323 of 9214
    assert answer_all(PLAN, LIBRARY, CLINIC, match(PLAN, LIBRARY), source)["bleeding"].own_worse
    assert not answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), source)["bleeding"].own_worse


def test_a_printed_figure_that_is_not_shown_to_the_patient_leaves_its_reason_for_the_clinician():
    plan = replace(PLAN, planned=(FAN, FILLER, BLOCK), experience="invented")
    found = answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), None)["vessel-blockage"]
    assert (found.rate, found.told) == (None, None)
    by_needle, by_tube = (why for level, why in whys(found) if "alam2021" in why)
    assert "1 of 6,410 syringes" in by_needle and "1 of 40,882 syringes" in by_tube
    assert "recall" in by_needle and "which is no count" in by_needle


def test_no_answer_of_any_plan_of_one_technique_quotes_what_was_not_read_in_the_source():
    for technique in LIBRARY.treating:
        plan = replace(PLAN, planned=(technique, INJECTION), experience="invented")
        for answer in answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), None).values():
            if answer.rate:
                fitting = [
                    r
                    for r in LIBRARY.published
                    if (r.outcome, r.events, r.n, r.source)
                    == (answer.outcome, answer.rate.events, answer.rate.n, answer.rate.source)
                ]
                assert {r.seen for r in fitting} == {"abstract"}


def test_a_benefit_is_counted_with_the_same_strictness(answers):
    # less-pulling needs 180 days (content/benefits/less-pulling.md)
    assert figure(answers(rows(100, less_pulling=70))["less-pulling"]) == ("closest", 70, 100)


def test_a_benefit_asked_about_too_early_is_no_figure(answers):
    answer = answers(rows(100, last_seen="2026-04-01", less_pulling=0))["less-pulling"]
    assert answer.rate is None
    assert whys(answer)[0] == ("closest", "no treatment was watched for this")


def test_what_may_become_necessary_is_compared_with_the_planned_treatment_and_it_together(answers):
    plan = replace(PLAN, may_become_necessary=(FILLER,), experience="invented")
    audit = rows(300, of=f"{CANNULA};{FILLER}", vessel_blockage=3) + rows(300, of=FILLER, vessel_blockage=30)
    answer = answers(audit, plan)["vessel-blockage"]
    assert answer.technique == FILLER
    assert figure(answer) == ("closest", 3, 300)
