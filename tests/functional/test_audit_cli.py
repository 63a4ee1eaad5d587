"""`consentpack audit …`: map, import, entry by hand, due, history, undo, watch and compare.

The clinic is the invented demo; drifts and entries are invented too.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path

import pytest

from consentpack import pipeline, shipped
from consentpack.clinic import load_clinic
from consentpack.library import load_library
from consentpack.model import Counts
from consentpack.rates.compare import Comparing, difference, ratio
from consentpack.register import read_outcome

LIBRARY = load_library(shipped.content())

NOW = datetime(2026, 11, 25, 9, 0)
TODAY = ("--today", "2026-11-25")
CANNULA, FAN = "blunt-cannula", "needle-fan-one-entry"

Row = dict[str, str]


def rewrite(sheet: Path, change: Callable[[list[Row]], None]) -> None:
    """Change the rows of a spreadsheet where it lies."""
    with sheet.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    change(rows)
    with sheet.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def edit(clinic: Path, change: Callable[[list[Row]], None]) -> None:
    """Change the rows of the clinic's spreadsheet and import it again."""
    sheet = clinic / "audit.csv"
    rewrite(sheet, change)
    pipeline.import_audit(pipeline.open_workplace(clinic), sheet, now=NOW, by="tests")


def day_of(row: Row) -> date | None:
    day, month, year = (int(part) for part in row["Date"].split("/"))
    try:
        return date(year, month, day)
    except ValueError:  # one of the demo's slips of the keyboard
        return None


def bruised(rows: list[Row], seen: Callable[[int], bool], *, after: date) -> None:
    """Say of each cannula treatment after a day whether it bruised, by its place in their order."""
    cannula = [row for row in rows if CANNULA in row["Techniques"] and row["Bruise"]]
    later = sorted((row for row in cannula if (day_of(row) or after) > after), key=lambda row: day_of(row))
    for at, row in enumerate(later):
        row["Bruise"] = "yes" if seen(at) else "no"


def watched(run, clinic: Path, *, of: str = CANNULA, outcome: str = "bruising"):
    answer = json.loads(run(clinic, "audit", "watch", *TODAY, "--json").stdout)
    (found,) = [w for w in answer["watched"] if (w["technique"], w["outcome"]) == (of, outcome)]
    return found


# --- watch ----------------------------------------------------------------------------------------

BASELINE_UNTIL, DRIFT_FROM = date(2025, 4, 30), date(2026, 1, 31)


def evenly(share: float) -> Callable[[int], bool]:
    """As many as the share says, spread evenly: no luck is in it."""
    return lambda at: int((at + 1) * share) > int(at * share)


@pytest.fixture
def steady(clinic_copy: Path, run) -> Path:
    """A clinic where, after the baseline, a cannula bruises exactly as often as before."""
    base = watched(run, clinic_copy)["baseline"]
    share = base["events"] / base["n"]
    edit(clinic_copy, lambda rows: bruised(rows, evenly(share), after=BASELINE_UNTIL))
    return clinic_copy


def test_a_steady_clinic_is_not_alarmed(run, steady):
    """Takes long: the run lengths of each watched line are worked out."""
    found = watched(run, steady)
    assert found["treatments_since"] > 80
    assert found["signals"] == []
    said = run(steady, "audit", "watch", *TODAY).stdout
    assert "thin tube that has a round end: Bruising: crossed" not in said


def test_a_planted_drift_is_found_and_it_is_said_when_and_what_to_look_at(run, steady):
    """Takes long: the run lengths of each watched line are worked out."""
    edit(steady, lambda rows: bruised(rows, lambda at: at % 8 != 0, after=DRIFT_FROM))
    found = watched(run, steady)
    first = found["signals"][0]
    assert first["day"] > str(DRIFT_FROM)
    assert first["events"] > 1.3 * first["expected"]
    said = run(steady, "audit", "watch", *TODAY).stdout
    (line,) = [
        line for line in said.splitlines()
        if "round end: Bruising: crossed on " + first["day"] in line
    ]  # fmt: skip
    assert f"{first['events']} seen in {first['treatments']} treatments since {first['since']}" in line
    assert f"about {first['expected']:.1f} expected" in line
    assert "Look at these treatments: data, patients, materials, hands." in line


def test_a_drift_of_one_technique_is_no_signal_of_another(run, steady):
    """Takes long: the run lengths of each watched line are worked out, three times."""
    before = watched(run, steady, of=FAN)
    edit(steady, lambda rows: bruised(rows, lambda at: True, after=DRIFT_FROM))
    assert watched(run, steady)["signals"]
    assert watched(run, steady, of=FAN) == before


def test_the_demo_as_it_is_signals_no_more_than_its_rules_declare(run, clinic_copy):
    answer = json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)
    treatments = sum(each["treatments_since"] for each in answer["watched"])
    expected = treatments / 1000  # run_length of the demo's clinic.toml
    found = sum(len(each["signals"]) for each in answer["watched"])
    assert found <= expected + 3 * expected**0.5


def test_watch_says_that_few_treatments_are_no_proof_of_safety(run, clinic_copy):
    last = run(clinic_copy, "audit", "watch", *TODAY).stdout.splitlines()[-1]
    assert "watched since 2025-04-30" in last and "about once in 1000 treatments" in last
    assert "have no baseline to watch them by" in last
    assert last.endswith("Few treatments: no signal is no proof of safety.")


def test_an_operator_who_stands_apart_is_named_without_a_ranking(run, clinic_copy):
    def change(rows: list[Row]) -> None:
        for row in rows:
            if CANNULA in row["Techniques"] and row["Bruise"]:
                row["Bruise"] = "yes" if row["Operator"] == "MV" else "no"

    edit(clinic_copy, change)
    answer = json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)
    apart = [a for a in answer["apart"] if (a["technique"], a["outcome"]) == (CANNULA, "bruising")]
    assert [(a["by"], a["group"], a["state"]) for a in apart if a["by"] == "operator"] == [
        ("operator", "MV", "above 99.8%")
    ]
    said = run(clinic_copy, "audit", "watch", *TODAY).stdout
    assert "Bruising, operator MV: " in said and "Look at the data first, then at who and how." in said


def test_nobody_is_named_for_standing_above_limits_that_somebody_always_stands_above(run, clinic_copy):
    """The demo is steady by design; the 95% limits, which were the default, named three of its sites."""
    assert json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)["apart"] == []
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text + "limits = 95\n", encoding="utf-8")
    answer = json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)
    assert answer["limits"] == 95 and {each["state"] for each in answer["apart"]} == {"above 95%"}
    chance = answer["by_chance"]
    assert chance["any_group_above"] > 0.99 and chance["groups_above"] > len(answer["apart"])


def test_the_chance_of_a_false_flag_is_said_for_the_groups_that_were_looked_at(run, clinic_copy):
    chance = json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)["by_chance"]
    assert chance["groups"] > 500 and 0 < chance["any_group_above"] < 0.43  # 1 - 0.999 ** 559
    groups, signals = run(clinic_copy, "audit", "watch", *TODAY).stdout.splitlines()[-2:]
    assert groups.startswith(f"{chance['groups']} operators and sites looked at")
    assert f"with a chance of up to {100 * chance['any_group_above']:.0f} in 100." in groups
    assert f"about {chance['signals']:.1f} false signals in all" in signals


def test_declared_groups_change_what_is_expected_of_an_operator(run, clinic_copy):
    """MV treats the darker skin, which bruises more with everybody."""

    def change(rows: list[Row]) -> None:
        for at, row in enumerate(rows):
            dark = row["Skin type"] in ("IV", "V", "VI")
            row["Operator"] = "MV" if dark or at % 7 == 0 else "AQ"
            if CANNULA in row["Techniques"] and row["Bruise"]:
                row["Bruise"] = "yes" if dark or at % 5 == 0 else "no"

    edit(clinic_copy, change)

    def bruising() -> list[object]:
        answer = json.loads(run(clinic_copy, "audit", "watch", *TODAY, "--json").stdout)
        return [
            (each["group"], each["expected"] is None) for each in answer["apart"]
            if (each["technique"], each["outcome"], each["by"]) == (CANNULA, "bruising", "operator")
        ]  # fmt: skip

    assert bruising() == [("MV", True)]
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text + 'adjust_for = ["skin_type"]\n', encoding="utf-8")
    assert bruising() == []


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("limits = 90", "'limits' should be 95 or 99.8; it is 90."),
        ('adjust_for = ["skin_typ"]', "'adjust_for' names 'skin_typ', which is not recorded of a treatment."),
        ('adjust_for = ["operator"]', "'adjust_for' names 'operator', which is not recorded"),
    ],
)
def test_a_wrong_rule_of_watching_is_refused_with_its_line(run, clinic_copy, line, what):
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(f"{text}{line}\n", encoding="utf-8")
    result = run(clinic_copy, "audit", "watch", *TODAY)
    assert result.exit_code == 16 and what in result.stderr
    assert f"clinic.toml, line {len(text.splitlines()) + 1}" in result.stderr


def test_watching_without_rules_says_which_to_add(run, clinic_copy):
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text[: text.index("[watch]")], encoding="utf-8")
    result = run(clinic_copy, "audit", "watch", *TODAY)
    assert result.exit_code == 16
    assert "Add [watch] with baseline_until, odds_ratio and run_length." in result.stderr


# --- compare --------------------------------------------------------------------------------------


def test_compare_gives_the_difference_in_every_hundred_with_its_interval(run, clinic_copy):
    answer = json.loads(
        run(clinic_copy, "audit", "compare", FAN, CANNULA, "bruising", *TODAY, "--json").stdout
    )
    four = [answer[which][key] for which in ("first", "second") for key in ("events", "watched")]
    expected, times = difference(*four), ratio(*four)
    assert times is not None
    assert answer["difference"] == expected.value
    assert answer["difference_95"] == [expected.low, expected.high]
    assert (answer["ratio"], answer["ratio_95"]) == (times[0], [times[1].low, times[1].high])
    assert (answer["verdict"], answer["quotable"]) == ("higher", True)
    said = run(clinic_copy, "audit", "compare", FAN, CANNULA, "bruising", *TODAY).stdout
    assert f"{four[0]} of {four[1]}" in said and f"{four[2]} of {four[3]}" in said
    assert f"Difference: {round(100 * expected.value):+} in every 100 (95% interval " in said
    assert f"Ratio, for the record: {times[0]:.2f}" in said


def test_a_difference_of_nearly_nothing_is_not_minus_nothing(run, clinic_copy, monkeypatch):
    invented = Comparing(FAN, CANNULA, "bruising", Counts(100, 999, 999, 999), Counts(101, 999, 999, 999))
    monkeypatch.setattr(pipeline, "compare_techniques", lambda *_: invented)
    said = run(clinic_copy, "audit", "compare", FAN, CANNULA, "bruising", *TODAY).stdout
    assert "Difference: +0 in every 100 (95% interval -3 to +3)" in said


def test_a_comparison_of_thin_figures_says_so(run, clinic_copy):
    said = run(clinic_copy, "audit", "compare", FAN, "needle-several-depths", "bruising", *TODAY).stdout
    assert "One of the figures is too thin to quote, so the difference is too." in said


def test_where_nothing_was_watched_there_is_no_difference_and_json_is_still_json(run, clinic_copy):
    long_ago = ("--today", "2023-01-01")
    command = ("audit", "compare", FAN, CANNULA, "bruising", *long_ago)
    assert "Nothing was watched for one of the two." in run(clinic_copy, *command).stdout
    answer = json.loads(run(clinic_copy, *command, "--json").stdout)
    assert answer["difference"] is None and answer["verdict"] is None and not answer["quotable"]


def test_misspelt_words_of_a_comparison_get_suggestions(run, clinic_copy):
    result = run(clinic_copy, "audit", "compare", "blunt-canula", FAN, "brusing", *TODAY)
    assert result.exit_code == 11
    assert "Did you mean 'blunt-cannula'?" in result.stderr
    assert "Did you mean 'bruising'" in result.stderr


def test_a_treatment_with_both_techniques_is_on_neither_side_of_a_comparison(run, clinic_copy):
    """Newcombe's interval and Fisher's test are for two groups that share nobody."""
    filler = "filler-after-release"
    with (clinic_copy / "audit.csv").open(newline="", encoding="utf-8") as stream:
        used = [row["Techniques"] for row in csv.DictReader(stream)]
    both = sum(filler in techniques and CANNULA in techniques for techniques in used)
    alone = sum(filler in techniques and CANNULA not in techniques for techniques in used)
    assert both > 20
    command = ("audit", "compare", filler, CANNULA, "bruising", *TODAY, "--json")
    assert json.loads(run(clinic_copy, *command).stdout)["first"]["watched"] <= alone


# --- map ------------------------------------------------------------------------------------------


def without_columns(clinic: Path) -> str:
    """Take the map out of clinic.toml, as a clinic has it that begins; the text that is left."""
    settings = clinic / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    start, end = text.index("[audit.columns]"), text.index("[groups.sites]")
    settings.write_text(text[:start] + "# our own note\n\n" + text[end:], encoding="utf-8")
    return settings.read_text(encoding="utf-8")


def test_map_proposes_and_changes_nothing(run, clinic_copy):
    before = without_columns(clinic_copy)
    result = run(clinic_copy, "audit", "map", "audit.csv")
    assert result.exit_code == 0 and result.stdout.startswith("[audit.columns]\n")
    for line in ('"Case no" = "case"', '"Visit" = "session"', '"Last seen" = "last_seen"'):
        assert line in result.stdout.splitlines()
    assert (clinic_copy / "clinic.toml").read_text(encoding="utf-8") == before


def test_map_save_keeps_the_comments_and_everything_else_of_clinic_toml(run, clinic_copy):
    before = without_columns(clinic_copy)
    result = run(clinic_copy, "audit", "map", "audit.csv", "--save")
    assert result.exit_code == 0 and "Saved in " in result.stderr
    after = (clinic_copy / "clinic.toml").read_text(encoding="utf-8")
    assert [line for line in before.splitlines() if line and line not in after.splitlines()] == []
    assert "# our own note" in after and "# An invented clinic." in after
    saved = load_clinic(clinic_copy, LIBRARY).audit_columns
    assert saved["Case no"] == "case" and saved["Infection"] == "infection"


def test_a_saved_map_is_one_that_imports(run, clinic_copy):
    without_columns(clinic_copy)
    (clinic_copy / "register.sqlite").unlink()
    assert run(clinic_copy, "audit", "map", "audit.csv", "--save").exit_code == 0
    answer = json.loads(run(clinic_copy, "audit", "import", "audit.csv", "--json").stdout)
    assert answer["added"] > 700 and answer["set_aside"] < 20


def test_saving_a_map_again_keeps_what_the_clinic_has_confirmed(run, clinic_copy):
    before = load_clinic(clinic_copy, LIBRARY).audit_columns
    assert run(clinic_copy, "audit", "map", "audit.csv", "--save").exit_code == 0
    assert load_clinic(clinic_copy, LIBRARY).audit_columns == before


def test_a_new_column_is_not_proposed_for_what_a_confirmed_one_holds(run, clinic_copy):
    sheet = clinic_copy / "audit.csv"
    lines = sheet.read_text(encoding="utf-8").splitlines()
    sheet.write_text("\n".join([lines[0] + ",Bruising", *(line + "," for line in lines[1:])]) + "\n")
    said = run(clinic_copy, "audit", "map", "audit.csv").stdout.splitlines()
    assert '"Bruise" = "bruising"' in said and '"Bruising" = "ignore"' in said


def test_a_header_with_quotation_marks_is_proposed_as_toml_that_can_be_read(run, clinic_copy):
    import tomllib

    sheet = clinic_copy / "small.csv"
    sheet.write_text('"The ""ref""",a\\b\nA,1\n', encoding="utf-8")
    said = run(clinic_copy, "audit", "map", "small.csv").stdout
    assert list(tomllib.loads(said)["audit"]["columns"]) == ['The "ref"', "a\\b"]


def test_who_patients_are_is_never_proposed_as_a_column(run, clinic_copy):
    sheet = clinic_copy / "small.csv"
    sheet.write_text("Patient name,Date of birth,Case ref\nA. Invented,2000-01-01,C-1\n", encoding="utf-8")
    said = run(clinic_copy, "audit", "map", "small.csv").stdout
    assert "# 'Patient name' looks as if it says who a patient is" in said
    assert '"Patient name"' not in said and '"Date of birth"' not in said
    assert "Invented" not in said


# --- dry run --------------------------------------------------------------------------------------


def imports(run, clinic: Path) -> list[Mapping[str, object]]:
    return json.loads(run(clinic, "audit", "history", "--json").stdout)


def test_a_dry_run_says_what_would_change_and_changes_nothing(run, clinic_copy):
    def change(rows: list[Row]) -> None:
        rows[0]["Bruise"] = "no" if rows[0]["Bruise"] == "yes" else "yes"

    sheet = clinic_copy / "audit.csv"
    before, text = imports(run, clinic_copy), sheet.read_bytes()
    figures = run(clinic_copy, "audit", "sheet", *TODAY).stdout
    rewrite(sheet, change)
    answer = json.loads(run(clinic_copy, "audit", "import", "audit.csv", "--dry-run", "--json").stdout)
    assert answer["dry_run"] and (answer["added"], answer["updated"]) == (0, 1)
    assert run(clinic_copy, "audit", "import", "audit.csv", "--dry-run").stdout.startswith("Would be: ")
    assert imports(run, clinic_copy) == before
    assert run(clinic_copy, "audit", "sheet", *TODAY).stdout == figures
    done = json.loads(run(clinic_copy, "audit", "import", "audit.csv", "--json").stdout)
    differ = {"dry_run": True, "set_aside_file": None}  # a dry run writes no file
    assert {**done, **differ} == answer
    assert text != sheet.read_bytes()  # the change was there to be seen


def test_a_dry_run_before_the_first_import_makes_no_register(run, clinic_copy):
    (clinic_copy / "register.sqlite").unlink()
    assert run(clinic_copy, "audit", "import", "audit.csv", "--dry-run").exit_code == 0
    assert not (clinic_copy / "register.sqlite").exists()


# --- by hand --------------------------------------------------------------------------------------


@pytest.fixture
def empty(clinic_copy: Path) -> Path:
    """A clinic that has neither register nor spreadsheet."""
    for name in ("register.sqlite", "audit.csv", "audit.set-aside.csv"):
        (clinic_copy / name).unlink()
    without_columns(clinic_copy)
    return clinic_copy


def add(run, clinic: Path, case: str = "N-1", *more: str):
    common = ("--session", "1", "--date", "2026-03-02", "--site", "Left cheek", "--by", "JA")
    techniques = ("--technique", CANNULA, "--technique", "local-infiltration")
    return run(clinic, "audit", "add", "--case", case, *common, *techniques, *more)


def test_a_clinic_without_a_spreadsheet_can_begin(run, empty):
    assert add(run, empty, "N-1", "--stratum", "skin_type=II").stdout == "N-1, session 1: entered.\n"
    seen = ("bruising=yes", "infection=no", "swelling=moderate", "--seen-on", "2026-04-06", "--by", "JA")
    result = run(empty, "audit", "outcome", "N-1", "1", *seen)
    assert result.stdout == "N-1, session 1: watched for 35 days.\n"
    run(empty, "audit", "sheet", *TODAY, "--out", "rates.json")
    lines = json.loads((empty / "rates.json").read_text(encoding="utf-8"))
    found = {x["outcome"]: (x["events"], x["watched"]) for x in lines if x["technique"] == CANNULA}
    assert (found["bruising"], found["infection"], found["swelling"]) == ((1, 1), (0, 1), (1, 1))
    assert found["soreness"] == (0, 0)  # never recorded, so never no


def test_what_is_entered_later_is_added_to_what_was_seen_before(run, empty):
    add(run, empty)
    run(empty, "audit", "outcome", "N-1", "1", "bruising=yes", "--seen-on", "2026-03-16")
    result = run(empty, "audit", "outcome", "N-1", "1", "infection=no", "--seen-on", "2026-04-13")
    assert "watched for 42 days" in result.stdout
    run(empty, "audit", "sheet", *TODAY, "--out", "rates.json")
    lines = json.loads((empty / "rates.json").read_text(encoding="utf-8"))
    found = {x["outcome"]: (x["events"], x["watched"]) for x in lines if x["technique"] == CANNULA}
    assert (found["bruising"], found["infection"]) == ((1, 1), (0, 1))


MISTAKES = {
    "the same again": (("N-1",), 11, "is in the register already"),
    "a word no technique has": (("N-2", "--technique", "blunt-canula"), 11, "Did you mean 'blunt-cannula'?"),
    "a day to come": (("N-2", "--date", "2199-01-01"), 11, "is in the future"),
    "no day of the calendar": (("N-2", "--date", "2026-02-31"), 2, "does not match the format"),
    "no skin type": (("N-2", "--stratum", "skin_type=VII"), 11, "is no skin type"),
}


@pytest.mark.parametrize(("more", "code", "said"), MISTAKES.values(), ids=MISTAKES)
def test_a_treatment_entered_wrongly_does_not_go_in(run, empty, more, code, said):
    add(run, empty)
    result = add(run, empty, *more)
    assert result.exit_code == code and said in result.stderr
    assert len(imports(run, empty)) == 1


OUTCOME_MISTAKES = {
    "a word no outcome has": (("brusing=yes",), "2026-04-06", 11, "Did you mean 'bruising'"),
    "neither yes nor no": (
        ("bruising=perhaps",),
        "2026-04-06",
        11,
        "'perhaps' is neither yes, no nor a grade",
    ),
    "no equals sign": (("bruising",), "2026-04-06", 2, "Write each outcome as OUTCOME=yes"),
    "seen before it was done": (("bruising=yes",), "2026-02-02", 11, "is before the day of the treatment"),
}


@pytest.mark.parametrize(("words", "day", "code", "said"), OUTCOME_MISTAKES.values(), ids=OUTCOME_MISTAKES)
def test_an_outcome_entered_wrongly_does_not_go_in(run, empty, words, day, code, said):
    add(run, empty)
    result = run(empty, "audit", "outcome", "N-1", "1", *words, "--seen-on", day)
    assert result.exit_code == code and said in result.stderr
    assert len(imports(run, empty)) == 1


def test_an_outcome_of_a_treatment_that_is_not_there_says_what_to_do(run, empty):
    add(run, empty)
    result = run(empty, "audit", "outcome", "N-9", "1", "bruising=no", "--seen-on", "2026-04-06")
    assert result.exit_code == 11 and "Add it with `consentpack audit add`." in result.stderr


@pytest.mark.parametrize("word", ["yes", "no", "mild", "moderate", "severe", "0", "3"])
def test_every_word_of_a_spreadsheet_cell_can_be_typed_too(run, empty, word):
    add(run, empty)
    result = run(empty, "audit", "outcome", "N-1", "1", f"bruising={word}", "--seen-on", "2026-04-06")
    assert result.exit_code == 0 and read_outcome(word) is not None


@pytest.mark.parametrize("command", ["due", "history", "undo", "watch", "sheet"])
def test_before_anything_is_entered_every_command_says_how_to_begin(run, empty, command):
    result = run(empty, "audit", command)
    assert result.exit_code == 11
    assert "there is no audit register" in result.stderr and "`consentpack audit add`" in result.stderr


# --- due ------------------------------------------------------------------------------------------


def due(run, clinic: Path, today: str) -> list[Mapping[str, object]]:
    return json.loads(run(clinic, "audit", "due", "--today", today, "--json").stdout)


def test_due_lists_what_nobody_looked_for_in_time_and_nothing_that_is_still_running(run, empty):
    add(run, empty)
    assert due(run, empty, "2026-03-02") == []
    (found,) = due(run, empty, "2026-03-16")
    assert (found["case"], found["session"], found["date"]) == ("N-1", 1, "2026-03-02")
    outcomes = found["outcomes"]
    assert isinstance(outcomes, list)
    assert "bruising" in outcomes and "dark-marks" not in outcomes  # 14 and 180 days
    assert outcomes == sorted(outcomes)
    run(empty, "audit", "outcome", "N-1", "1", *(f"{id}=no" for id in outcomes), "--seen-on", "2026-03-16")
    assert due(run, empty, "2026-03-16") == []
    assert "0 treatments to follow up." in run(empty, "audit", "due", "--today", "2026-03-16").stdout


def test_due_says_it_in_the_words_of_the_library(run, empty):
    add(run, empty)
    said = run(empty, "audit", "due", "--today", "2026-03-16").stdout
    assert said.startswith("N-1, session 1, 2026-03-02: ") and "Bruising" in said
    assert said.endswith("1 treatment to follow up.\n")


# --- history and undo -----------------------------------------------------------------------------


def test_history_says_who_when_which_file_and_how_many(run, clinic_copy):
    assert run(clinic_copy, "audit", "import", "audit.csv", "--by", "JA").exit_code == 0
    first, second = imports(run, clinic_copy)
    assert (first["by"], first["at"], first["added"]) == ("tests", "2026-11-25T09:00:00", 720)
    assert (second["by"], second["added"], second["unchanged"]) == ("JA", 0, 720)
    assert first["file_digest"] == second["file_digest"] != ""
    lines = run(clinic_copy, "audit", "history").stdout.splitlines()
    assert len(lines) == 2 and "JA  audit.csv (" in lines[1]


def test_undo_puts_a_changed_treatment_back_and_takes_a_new_one_out(run, clinic_copy):
    def change(rows: list[Row]) -> None:
        for row in rows[200:205]:
            row["Bruise"] = "no" if row["Bruise"] == "yes" else "yes"
        rows.append(rows[200] | {"Case no": "HS-9999"})

    before = run(clinic_copy, "audit", "sheet", *TODAY).stdout
    edit(clinic_copy, change)
    assert run(clinic_copy, "audit", "sheet", *TODAY).stdout != before
    said = run(clinic_copy, "audit", "undo", "--number", "2").stdout
    assert said == "Taken back: audit.csv. 1 treatments removed, 5 put back as they were.\n"
    assert run(clinic_copy, "audit", "sheet", *TODAY).stdout == before
    assert [entry["undone"] for entry in imports(run, clinic_copy)] == [False, True]
    assert ", taken back" in run(clinic_copy, "audit", "history").stdout.splitlines()[1]


def test_undo_goes_back_step_by_step_until_there_is_nothing(run, empty):
    add(run, empty)
    run(empty, "audit", "outcome", "N-1", "1", "bruising=yes", "--seen-on", "2026-04-06")
    assert "an entry by hand. 0 treatments removed, 1 put back" in run(empty, "audit", "undo").stdout
    result = run(empty, "audit", "undo")  # what is left was entered by JA
    assert result.exit_code == 11 and "The last is number 1, by JA" in result.stderr
    undo = ("audit", "undo", "--by", "JA")
    assert "an entry by hand. 1 treatments removed, 0 put back" in run(empty, *undo).stdout
    result = run(empty, "audit", "undo")
    assert result.exit_code == 11 and "nothing to take back" in result.stderr


# --- JSON -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "command",
    [
        ("rates", "plans/p-101.toml"),
        ("watch", *TODAY),
        ("compare", FAN, CANNULA, "bruising", *TODAY),
        ("due", *TODAY),
        ("history",),
        ("import", "audit.csv"),
        ("import", "audit.csv", "--dry-run"),
    ],
    ids=" ".join,
)
def test_each_json_answer_is_json_and_nothing_else(run, clinic_copy, command):
    result = run(clinic_copy, "audit", *command, "--json")
    assert result.exit_code == 0 and json.loads(result.stdout)
