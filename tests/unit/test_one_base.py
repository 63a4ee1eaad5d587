"""What is read together is told from one comparison, and no part is told as more than its whole.

Which outcome is a part of which is invented here, and so are clinics, plans and rows.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest
import test_ladder
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support import empty, load
from test_counts_said import form
from test_ladder import CANNULA, CLINIC, FILLER, LIBRARY, PLAN, PRINTED_BENEFIT, READING, rows

from consentpack.check.parts import check_parts
from consentpack.match import match
from consentpack.model import Counts
from consentpack.rates import answer_all
from consentpack.register import Comparison, Tally, Window, tally

answers = test_ladder.answers
WHOLE, PART, PIECE = "bleeding", "blood-pocket", "fluid-pocket"
"""Invented: a piece is a kind of a part, and that of the whole."""
GAINS = ("little-change", "shallower-scar", "less-pulling")
OUTCOMES = (WHOLE, PART, PIECE, *GAINS)
COLUMNS = ("case", "session", "date", "techniques", "site", "skin_type", "last_seen", *OUTCOMES)


def _risks(**changed):
    return {**LIBRARY.risks, **{id.replace("_", "-"): risk for id, risk in changed.items()}}


def _risk(id: str, **values):
    return replace(LIBRARY.risks[id], watch_days=30, **values)


NESTED = replace(
    LIBRARY,
    risks=_risks(
        bleeding=_risk(WHOLE),
        blood_pocket=_risk(PART, part_of=WHOLE),
        fluid_pocket=_risk(PIECE, part_of=PART),
    ),
)


# --- a random register, counted once more by code that shares nothing with ours ---------------------


@dataclass(frozen=True)
class Row:
    used: frozenset[str]
    site: str
    skin: str
    watched: int | None
    """Days; the treatment was on DAY."""
    cells: Mapping[str, str]
    """Outcome -> 'yes', 'no' or '' for blank."""


DAY = date(2026, 3, 2)


def recount(register: list[Row], comparison: Comparison, watch_days: Mapping[str, int]) -> dict[str, Counts]:
    """Counts of each outcome, row by row and in words: seen, not seen, not known."""
    skins = dict(comparison.strata).get("skin_type")
    inside = [
        row
        for row in register
        if comparison.techniques <= row.used
        and not (row.used - comparison.techniques) & comparison.scope
        and (not comparison.sites or row.site in comparison.sites)
        and (not skins or row.skin in skins)
    ]
    # all that are parts of one another are watched for the longest of their times
    longest = max((watch_days[id] for pair in comparison.parts for id in pair if id in watch_days), default=0)
    in_parts = {id for pair in comparison.parts for id in pair}
    counts = {}
    for outcome, days in watch_days.items():
        together = comparison.joint if outcome in comparison.joint else (outcome,)
        states = [
            known(row, outcome, comparison)
            if all(known(row, other, comparison) for other in together)
            else ""
            for row in inside
        ]
        due = DAY + timedelta(days) <= PLAN.prepared
        needs = {id: longest if id in in_parts else watch_days[id] for id in together}
        over = [
            row.watched is not None
            and all(row.watched >= n and DAY + timedelta(n) <= PLAN.prepared for n in needs.values())
            for row in inside
        ]
        within = [state for state, ended in zip(states, over, strict=True) if ended]
        events, watched = within.count("seen"), sum(map(bool, within))
        counts[outcome] = Counts(
            events, watched, len(inside) if due else 0, watched,
            outside_events=states.count("seen") - events, outside=sum(map(bool, states)) - watched,
            blank=states.count(""),
        )  # fmt: skip
    return counts


def known(row: Row, outcome: str, comparison: Comparison) -> str:
    """'seen', 'not', or '' where nobody can say; at whatever time."""
    kinds = [part for part, whole in comparison.parts if whole == outcome]
    kind_seen = any(known_alone(row, kind, comparison) for kind in kinds)
    own = "seen" if row.cells[outcome] == "yes" or kind_seen else ""
    own = own or ("not" if row.cells[outcome] == "no" else "")
    above = [whole for part, whole in comparison.parts if part == outcome]
    if not above:
        return own
    whole = known(row, above[0], comparison)
    return (own or ("not" if whole == "not" else "")) if whole else ""


def known_alone(row: Row, outcome: str, comparison: Comparison) -> bool:
    kinds = [part for part, whole in comparison.parts if whole == outcome]
    return row.cells[outcome] == "yes" or any(known_alone(row, kind, comparison) for kind in kinds)


LOOKED_FOR = [Row(frozenset({FILLER}), "chin", "V", 245, dict.fromkeys(OUTCOMES, "no"))] * 30
"""What was never written down of anybody has no column; and so many last-seen days that one may lack."""


def registers():
    """Some layers of alike rows, so that the groups get large enough to be told from."""
    row = st.builds(
        Row,
        used=st.sampled_from([frozenset({CANNULA}), frozenset({CANNULA, FILLER})]),
        site=st.sampled_from(["left cheek", "chin"]),
        skin=st.sampled_from(["III", "V"]),
        watched=st.sampled_from([None, 3, 40, 245, 245, 245]),
        cells=st.fixed_dictionaries({id: st.sampled_from(["yes", "no", "no", "no", ""]) for id in OUTCOMES}),
    )
    return st.lists(st.tuples(row, st.integers(1, 60)), min_size=1, max_size=12).map(
        lambda layers: [*LOOKED_FOR, *(row for row, times in layers for _ in range(times))]
    )


def csv_of(register: list[Row]) -> str:
    lines = [",".join(COLUMNS)]
    for number, row in enumerate(register):
        last = "" if row.watched is None else (DAY + timedelta(row.watched)).isoformat()
        cells = [f"C-{number}", "1", DAY.isoformat(), ";".join(sorted(row.used)), row.site, row.skin, last]
        lines.append(",".join([*cells, *(row.cells[id] for id in OUTCOMES)]))
    return "\n".join(lines)


def comparisons() -> list[Comparison]:
    both = frozenset({CANNULA, FILLER})
    pairs = ((PART, WHOLE), (PIECE, PART))
    return [
        Comparison(frozenset({CANNULA}), frozenset({CANNULA}), parts=pairs),
        Comparison(frozenset({CANNULA}), both, ("left cheek",), (("skin_type", ("III",)),), parts=pairs),
        Comparison(frozenset({CANNULA}), both, joint=GAINS),
        Comparison(frozenset({CANNULA}), frozenset({CANNULA}), joint=GAINS, parts=pairs),
        Comparison(frozenset({CANNULA}), frozenset({CANNULA})),
    ]


@given(registers())
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_register_counts_together_what_a_count_by_hand_does(tmp_path_factory, register):
    # a stratum that nobody recorded would be left out; here somebody always has
    where = tmp_path_factory.mktemp("register")
    held = empty(f"sqlite:///{where / 'register.sqlite'}")
    load(held, csv_of(register), reading=READING)
    days = {id: NESTED.outcome(id).watch_days for id in OUTCOMES}
    with held.connect() as connection:
        for comparison in comparisons():
            got = tally(connection, comparison, Window(date(2023, 11, 20), PLAN.prepared), days).counts
            wanted = recount(register, comparison, days)
            for id in OUTCOMES:
                found = got[id]
                names = ("events", "watched", "due", "due_watched", "outside_events", "outside", "blank")
                assert {n: getattr(found, n) for n in names} == {n: getattr(wanted[id], n) for n in names}, (
                    id,
                    comparison,
                )


def answered(register: list[Row], library):
    def source(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        blank = {id: Counts(0, 0, 0, 0) for id in watch_days}
        held = {id: days for id, days in watch_days.items() if id in OUTCOMES}
        return Tally(len(register), DAY, DAY, {**blank, **recount(register, comparison, held)})

    return answer_all(PLAN, library, CLINIC, match(PLAN, library), source)


def told(words: str) -> list[float]:
    """Every share that a patient is told of an outcome, first the figure, then the closest count."""
    found = []
    if first := re.match(r"(?:About|More than|Fewer than) (\d+) in every 100|None in|All of", words):
        all_or_none = 1.0 if first[0] == "All of" else 0.0
        found.append(int(first[1]) / 100 if first[1] else all_or_none)
    found += [int(k) / int(n) for k, n in re.findall(r"We saw it in (\d+) of (\d+) treatment", words)]
    return found


def study(outcome: str, events: int):
    return replace(PRINTED_BENEFIT, id=f"invented-{outcome}", outcome=outcome, events=events, n=100)


def studies():
    """Printed figures of a whole, its part and a piece, that need not fit each other."""
    some = st.one_of(st.none(), st.integers(0, 100))
    return st.tuples(some, some, some).map(
        lambda events: tuple(study(id, k) for id, k in zip((WHOLE, PART, PIECE), events, strict=True) if k)
    )


@given(registers(), studies())
@settings(max_examples=40, deadline=None)
def test_no_part_is_told_as_more_than_its_whole(register, published):
    library = replace(NESTED, published=published)
    found = answered(register, library)
    said = {id: told(form(found, id, library=library)) for id in (WHOLE, PART, PIECE)}
    for part, whole in ((PART, WHOLE), (PIECE, PART), (PIECE, WHOLE)):
        if said[part] and said[whole]:
            assert said[part][0] <= said[whole][0], (found[part], found[whole])
        if len(said[part]) > 1 and said[whole]:
            assert said[part][-1] <= said[whole][-1]


@given(registers())
@settings(max_examples=40, deadline=None)
def test_gains_and_their_opposite_that_are_shares_are_of_the_same_treatments(register):
    found = answered(register, NESTED)
    shares = [found[id].rate for id in GAINS if found[id].rate]
    assert len({rate.level for rate in shares}) <= 1


# --- one by one -----------------------------------------------------------------------------------


def some(number: int, *, of=frozenset({CANNULA}), site="left cheek", **cells: str) -> list[Row]:
    blank = dict.fromkeys(OUTCOMES, "")
    named = {id.replace("_", "-"): word for id, word in cells.items()}
    return [Row(of, site, "III", 245, {**blank, **named})] * number


def test_a_gain_and_its_opposite_come_from_one_comparison():
    # by itself the gain may be quoted of the closest 46, that it was not as hoped only of all 166
    register = (
        some(31, little_change="no", shallower_scar="yes")
        + some(5, little_change="yes", shallower_scar="no")
        + some(10, little_change="no", shallower_scar="no")
        + some(70, site="chin", little_change="no", shallower_scar="yes")
        + some(28, site="chin", little_change="yes", shallower_scar="no")
        + some(22, site="chin", little_change="no", shallower_scar="no")
    )
    found = answered(register, NESTED)
    gain, opposite = (found[id].rate for id in ("shallower-scar", "little-change"))
    assert (gain.events, gain.n, opposite.events, opposite.n) == (101, 166, 33, 166)
    assert found["shallower-scar"].rejected[0].why == (
        "too few treatments in which all that is read together with it is known"
    )


def test_they_are_of_the_treatments_in_which_both_are_known():
    register = (
        some(90, little_change="no", shallower_scar="yes")
        + some(40, little_change="yes", shallower_scar="no")
        + some(10, little_change="no", shallower_scar="no")
        + some(12, little_change="no")
        + some(3, little_change="yes")
    )
    found = answered(register, NESTED)
    assert [(found[id].rate.events, found[id].rate.n) for id in ("shallower-scar", "little-change")] == [
        (90, 140), (40, 140),
    ]  # fmt: skip


def test_a_gain_that_was_looked_for_in_a_few_is_no_share_beside_its_opposite():
    register = (
        some(31, little_change="no", shallower_scar="yes")
        + some(15, little_change="yes", shallower_scar="no")
        + some(120, little_change="no")
    )
    found = answered(register, NESTED)
    assert (found["little-change"].rate.events, found["little-change"].rate.n) == (15, 166)
    said = form(found, "shallower-scar", library=NESTED)
    few = "That is too few to be sure. We do not know about 120 more treatments."
    assert said.startswith(f"We saw it in 31 of 46 treatments. {few}")


def test_treatments_are_not_left_out_where_those_did_worse():
    # 60 of the 100 in which nobody wrote down the gain were not as hoped, 2 of the 60 others
    register = (
        some(50, little_change="no", shallower_scar="yes")
        + some(8, little_change="no", shallower_scar="no")
        + some(2, little_change="yes", shallower_scar="no")
        + some(40, little_change="no")
        + some(60, little_change="yes")
    )
    opposite = answered(register, NESTED)["little-change"].rate
    assert (opposite.events, opposite.n) == (62, 160)


def test_whole_and_part_come_from_the_closest_comparison_with_enough_for_both():
    close = some(80, bleeding="no", blood_pocket="no") + some(20, bleeding="yes", blood_pocket="")
    wide = some(150, site="chin", bleeding="no") + some(50, site="chin", bleeding="yes", blood_pocket="no")
    found = answered([*close, *wide], NESTED)
    assert {found[id].rate.level for id in (WHOLE, PART)} == {"closest"}
    assert (found[WHOLE].rate.events, found[WHOLE].rate.n) == (20, 100)
    # in the 20 with the whole nobody wrote of the part: not known, and never a no
    assert (found[PART].rate or found[PART].seen).n == 80


def test_a_part_that_was_seen_counts_as_its_whole_whatever_its_own_cell_says():
    register = some(10, bleeding="no", blood_pocket="yes") + some(90, bleeding="no", blood_pocket="no")
    found = answered(register, NESTED)
    assert [(found[id].rate.events, found[id].rate.n) for id in (WHOLE, PART)] == [(10, 100), (10, 100)]


def test_a_study_of_a_part_that_is_above_the_own_whole_gives_way_to_it():
    library = replace(NESTED, published=(study(PART, 30),))
    found = answered(some(95, bleeding="no") + some(5, bleeding="yes"), library)
    assert found[PART].counted_in == WHOLE
    assert form(found, PART, library=library) == "We count this in the figure for: bleeding where we worked."
    assert found[PART].rejected[-1].why == "30 of 100 would be above bleeding, of which it is a part"


def test_a_study_of_the_whole_that_is_below_that_of_a_part_gives_way_to_it():
    library = replace(NESTED, published=(study(PART, 30), study(WHOLE, 10)))
    found = answer_all(PLAN, library, CLINIC, match(PLAN, library), None)
    assert found[WHOLE].at_least == PART
    assert form(found, WHOLE, library=library) == (
        "It is seen at least as much as one kind of it: a pocket of trapped blood."
    )
    assert form(found, PART, library=library).startswith("About 30 in every 100 people.")


def test_a_worse_closest_count_of_a_part_is_told_with_that_of_its_whole():
    close = some(4, bleeding="yes", blood_pocket="yes") + some(6, bleeding="no", blood_pocket="no")
    wide = some(180, site="chin", bleeding="yes", blood_pocket="no") + some(
        120, site="chin", bleeding="no", blood_pocket="no"
    )
    wide += some(6, site="chin", bleeding="yes", blood_pocket="yes")
    found = answered([*close, *wide], NESTED)
    assert "We saw it in 4 of 10 treatments here like yours." in form(found, PART, library=NESTED)
    whole = form(found, WHOLE, library=NESTED)
    assert whole.endswith("We saw it in 4 of 10 treatments here like yours. That is too few to be sure.")


def test_outcomes_told_in_one_row_come_from_one_comparison():
    # the darker marks could be quoted of the closest 100, the paler ones only of all 400
    def source(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        near = bool(comparison.sites or comparison.strata)
        close, all_of_them = {"dark-marks": 40, "light-marks": 2}, {"dark-marks": 90, "light-marks": 20}
        events, n = (close, 100) if near else (all_of_them, 400)
        counts = {id: Counts(0, 0, 0, 0) for id in watch_days}
        counts |= {id: Counts(k, n, n, n) for id, k in events.items() if id in watch_days}
        return Tally(n, DAY, DAY, counts)

    assert LIBRARY.risks["light-marks"].told_with == "dark-marks"
    found = answer_all(PLAN, LIBRARY, CLINIC, match(PLAN, LIBRARY), source)
    assert [(found[id].rate.level, found[id].rate.n) for id in ("dark-marks", "light-marks")] == [
        ("same-techniques", 400), ("same-techniques", 400),
    ]  # fmt: skip


def test_no_bound_of_several_steps_reaches_a_patient(answers):
    plan = replace(PLAN, planned=(CANNULA, FILLER, "local-infiltration"), experience="invented")
    audit = rows(300, of=CANNULA, bruising=90) + rows(300, of=FILLER, bruising=90)
    assert "With all the steps" not in form(answers(audit, plan), "bruising", plan=plan)


# --- the data -------------------------------------------------------------------------------------


def test_a_part_that_leads_back_to_itself_is_a_problem():
    library = replace(LIBRARY, risks=_risks(bleeding=_risk(WHOLE, part_of=PART),
        blood_pocket=_risk(PART, part_of=WHOLE)))  # fmt: skip
    said = [problem.what for problem in check_parts(library)]
    assert said == ["part_of = \"blood-pocket\" leads back to 'bleeding' itself.",
        "part_of = \"bleeding\" leads back to 'blood-pocket' itself."]  # fmt: skip


def test_a_whole_that_is_watched_for_a_shorter_time_is_a_problem():
    part = replace(LIBRARY.risks[PART], part_of=WHOLE, watch_days=60)
    (problem,) = check_parts(replace(LIBRARY, risks=_risks(bleeding=_risk(WHOLE), blood_pocket=part)))
    assert "would be said not to have happened too early" in problem.what
    assert problem.fix == "Give 'bleeding' at least as many watch_days."


@pytest.mark.parametrize("library", [LIBRARY, NESTED])
def test_the_shipped_parts_are_sound(library):
    assert list(check_parts(library)) == []


def not_written_down() -> list[Row]:
    """A piece that was not written down of so many that it is told by itself; seen more in the closest."""
    close = (
        some(20, bleeding="yes", blood_pocket="yes", fluid_pocket="yes")
        + some(55, bleeding="no", blood_pocket="no", fluid_pocket="no")
        + some(70, bleeding="yes", blood_pocket="yes")
    )
    wide = (
        some(60, site="chin", bleeding="no", blood_pocket="no", fluid_pocket="no")
        + some(30, site="chin", bleeding="no", blood_pocket="no")
    )  # fmt: skip
    return close + wide


def test_a_part_told_by_itself_is_told_of_the_closest_where_that_is_worse():
    found = answered(not_written_down(), NESTED)
    assert (found[PIECE].seen.events, found[PIECE].seen.n) == (20, 135)
    assert "We saw it in 20 of 75 treatments here like yours." in form(found, PIECE, library=NESTED)
    assert all(told(form(found, id, library=NESTED))[-1] >= 20 / 75 for id in (PART, WHOLE))
