"""Strict reading of TOML: everything wrong is said, with its line, and nothing is ignored."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.errors import Problem
from consentpack.strict import Key, TomlText, check_table, load_toml, wrong_value

KEYS = {
    "name": Key(str, "what it is called"),
    "day": Key(date, "when"),
    "count": Key(int, "how many", required=False),
    "grade": Key(float, "how hard", required=False),
    "newer": Key(bool, "whether it is newer", required=False),
    "group": Key(str, "its place", required=False, allowed=("expected", "serious")),
    "risks": Key(list, "what it may cause", required=False),
    "when": Key(dict, "conditions", required=False),
}
GOOD = 'name = "x"\nday = 2026-11-25\n'


def said(text: str, *, first_line: int = 1) -> list[str]:
    """What is wrong with some TOML under KEYS, each as its text."""
    data, problems = load_toml(text, file="f.toml", first_line=first_line)
    return [str(p) for p in problems or check_table(data, KEYS, toml=TomlText("f.toml", text, first_line))]


def test_good_toml_has_no_problem():
    assert said(GOOD + 'count = 2\ngrade = 6\nnewer = true\ngroup = "serious"\nrisks = ["a", "b"]\n') == []


def test_an_unknown_key_names_its_line_and_the_nearest_key():
    assert said(GOOD + "cuont = 2\n") == ["f.toml, line 3: there is no key 'cuont'.\n  Did you mean 'count'?"]


def test_an_unknown_key_near_to_none_lists_all_keys():
    assert said(GOOD + "xyz = 2\n")[0].endswith(
        "Keys here: name, day, count, grade, newer, group, risks, when."
    )


def test_a_missing_key_says_what_it_is_for():
    assert said('name = "x"\n') == ["f.toml: the key 'day' is missing (when)."]


def test_a_table_inside_is_named_in_the_message():
    toml = TomlText("clinic.toml", '[clinic]\nnmae = "x"\nday = 2026-11-25\n')
    found = check_table({"nmae": "x", "day": date(2026, 11, 25)}, KEYS, toml=toml, name="clinic")
    assert [problem.what for problem in found] == [
        "there is no key 'nmae' in [clinic].",
        "the key 'name' is missing in [clinic] (what it is called).",
    ]


@pytest.mark.parametrize(
    ("key", "typed", "wrong"),
    [
        ("name", "7", "should be words in quotes; it is 7."),
        ("name", '" "', "is empty."),
        ("day", '"2026-11-25"', "should be a date such as 2026-11-25 (no quotes); it is '2026-11-25'."),
        ("count", "true", "should be a whole number; it is True."),
        ("count", "2.5", "should be a whole number; it is 2.5."),
        ("count", "0", "should be 1 or more; it is 0."),
        ("grade", "true", "should be a number; it is True."),
        ("newer", '"no"', "should be true or false; it is 'no'."),
        ("newer", "0", "should be true or false; it is 0."),
        ("group", '"rare"', "is 'rare'; it should be one of: expected, serious."),
        ("risks", '"bruising"', "should be a list of words in brackets; it is 'bruising'."),
        ("risks", "[1]", "should hold words in quotes only."),
        ("risks", '[["bruising"]]', "should hold words in quotes only."),
        ("risks", '["bruising", " "]', "should hold words in quotes only."),
        ("risks", '["bruising", "bruising"]', "names the same thing twice."),
        ("when", "1", "should be a table; it is 1."),
    ],
)
def test_a_wrong_value_says_what_should_stand_there(key, typed, wrong):
    assert wrong_value(KEYS[key], tomllib.loads(f"x = {typed}")["x"]) == wrong


def test_a_time_is_no_date():
    """A time zone could move the day, and with it what is counted."""
    assert said('name = "x"\nday = 2026-11-25T09:00:00\n')[0].startswith(
        "f.toml, line 2: 'day' should be a date such as 2026-11-25"
    )


def test_all_problems_are_said_together():
    assert len(said('name = 1\ncount = 0\ngrop = "serious"\n')) == 4  # and 'day' is missing


@pytest.mark.parametrize(
    ("text", "line"),
    [("a = 1\nb = x\n", 2), ("a = 1\na = 2\n", 2), ("a = [1,\n2\n", 3), ("a = 1\n\nb = \n", 3)],
)
def test_a_line_that_is_no_toml_is_named(text, line):
    data, problems = load_toml(text, file="f.toml")
    assert data == {}
    assert [problem.where for problem in problems] == [f"f.toml, line {line}"]


def test_lines_are_counted_from_where_the_toml_stands_in_its_file():
    assert said(GOOD + "xyz = 2\n", first_line=2)[0].startswith("f.toml, line 4:")
    _, problems = load_toml("a = x\n", file="f.md", first_line=2)
    assert problems[0].where == "f.md, line 2"


def test_a_word_in_a_long_list_has_the_line_it_stands_on():
    toml = TomlText(
        "f.md", 'title = "bruising"\nrisks = [\n  "swelling",\n  \'bruising\',\n]\n', first_line=2
    )
    assert toml.line_of("risks", "bruising") == 5
    assert toml.where("risks", "swelling") == "f.md, line 4"


def test_a_key_is_not_mistaken_for_one_that_ends_alike():
    toml = TomlText("f.toml", 'my_risks = 1\n"risks" = 2\n')
    assert toml.line_of("risks") == 2


def test_a_table_is_found_by_its_header():
    assert TomlText("f.md", 'id = "x"\n\n[when]\n"A" = "b"\n').line_of("when") == 3


def test_a_key_is_looked_for_in_its_own_table():
    text = '[clinic]\nphone = "1"\n\n[audit]\ndates = "day-first"\nphone = "2"\n'
    keys = {"dates": Key(str, "how dates are typed")}
    found = check_table(tomllib.loads(text)["audit"], keys, toml=TomlText("c.toml", text), name="audit")
    assert [problem.where for problem in found] == ["c.toml, line 6"]


@given(value=st.one_of(st.none(), st.integers(), st.floats(), st.text(), st.lists(st.text(), max_size=3)))
def test_a_wrong_value_is_judged_without_ever_raising(value):
    for key in KEYS.values():
        assert isinstance(wrong_value(key, value), str)


@given(text=st.text("ab=[]{}\"'#.\n 1-", max_size=30))
def test_any_text_is_either_read_or_refused_with_a_line_of_that_text(text):
    _, problems = load_toml(text, file="f")
    for problem in problems:
        assert isinstance(problem, Problem)
        line = int(problem.where.removeprefix("f, line "))
        assert 1 <= line <= text.count("\n") + 1
