"""The files of a new clinic folder, each line with a word on what it is for."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from pathlib import Path

from consentpack.clinic import DEFAULT_REGISTER, NO_REGISTER, PHOTOGRAPHS
from consentpack.library import Library
from consentpack.model import Technique
from consentpack.pipeline.start_answers import in_lines, is_yes
from consentpack.plans import KEYS, keys_of

FIRST_PLAN = "first-plan.toml"
FIRST_REFERENCE = "FIRST-PLAN"
_TWO_WEEKS = 14


def quoted(value: object) -> str:
    """A value as TOML writes it: JSON's words and lists are TOML's too."""
    if isinstance(value, date):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False)


def settings(answers: Mapping[str, str], library: Library) -> str:
    """clinic.toml of a clinic's answers. What is not asked stands there as a note, to be taken up later."""
    rule = library.rules[answers["rules"]]
    keeps = is_yes(answers["audit"])
    own = in_lines(answers["languages"])[0]
    lines = [
        "# The settings of this clinic. A line that begins with # is a note, and the program passes over it.",
        "# A key stands before the =, what it is set to behind it; words stand in straight quotes.",
        "",
        "# Who you are, as your papers say it.",
        "[clinic]",
        *_line("The clinic's name, as patients know it.", "name", answers["name"]),
        *_line("The lines of its address.", "address", in_lines(answers["address"])),
        *_line("The number patients ring in opening hours.", "phone", answers["phone"]),
        *_line(
            "The number they ring at night and at weekends.", "phone_out_of_hours", answers["out_of_hours"]
        ),
        *_line("When you are open, in words.", "hours", answers["hours"]),
        *_line("The number of the ambulance.", "emergency_number", answers["emergency"]),
        *_line("Your own language. The record is in it, and every paper for whom it fits.", "language", own),
        "",
        "# The law or body on consent that you work under: time to think, age, who takes consent.",
        "[consent]",
        f"# {rule.where}. Days to think: {rule.wait_days}. Lowest age: {rule.minimum_age}.",
        f"rules = {quoted(rule.id)}",
        *_later("Days to think, where you ask for more than that.", "wait_days", max(rule.wait_days, 7)),
        *_line("What you may want photographs for; each is asked about.", "photographs", PHOTOGRAPHS[:2]),
        "",
        *_look(answers),
        "# How old treatments may be that are counted for the figures of a form.",
        "[rates]",
        *_line("Months to look back.", "window_months", 36),
        "",
        *_audit(answers, keeps=keeps),
        *_groups(library),
        *_library(library),
    ]
    return "\n".join(lines) + "\n"


def _library(library: Library) -> list[str]:
    """The field, and what of its library may be switched off."""
    off = [
        "# Modules of the library that you do without: they are then in no list, form or check.",
        "# Folder and id of each; `consentpack library list` has all.",
        f"# without = {quoted([f'techniques/{next(iter(library.techniques))}'])}",
    ]
    if not library.shipped_field:
        return [off[0], "# [library]", *off[1:]]
    field = _line(f"The field of medicine: {library.field.name}.", "field", library.shipped_field)
    return ["# The library that your papers are made of.", "[library]", *field, *off]


def _line(meaning: str, key: str, value: object) -> list[str]:
    return [f"# {meaning}", f"{key} = {quoted(value)}"]


def _later(meaning: str, key: str, value: object) -> list[str]:
    """A line that is not in force: take the # away in front of it."""
    return [f"# {meaning} To set it, take away the # of the next line.", f"# {key} = {quoted(value)}"]


def _look(answers: Mapping[str, str]) -> list[str]:
    logo = Path(answers.get("logo", "")).name
    shown = f"The logo of {answers['name']}"
    if not logo:
        return [
            "# How your papers look. Lines of it that are not set are as we set them.",
            "[brand]",
            *_line("Your address at the head of page one.", "address", True),
            *_later("Colour of headings.", "colour", "#1F5A3C"),
            *_later("A logo: a PNG or JPEG file in this folder.", "logo", "logo.png"),
            "",
        ]
    return [
        "# How your papers look.",
        "[brand]",
        *_line("Your logo, a file in this folder.", "logo", logo),
        *_line("What it shows, for people who cannot see it. Say it in your words.", "logo_alt", shown),
        *_line("Your address at the head of page one.", "address", True),
        *_later("Colour of headings.", "colour", "#1F5A3C"),
        "",
    ]


def _audit(answers: Mapping[str, str], *, keeps: bool) -> list[str]:
    if not keeps:
        return [
            "# Your audit: the treatments you have done, from which your own figures are counted.",
            "[audit]",
            f'# "{NO_REGISTER}": you keep none, and forms quote named studies. To begin one, write',
            f'# register = "{DEFAULT_REGISTER}" here, and how you type dates: dates = "day-first".',
            f"register = {quoted(NO_REGISTER)}",
            "",
        ]
    return [
        "# Your audit: the treatments you have done, from which your own figures are counted.",
        "[audit]",
        *_line(
            "Where they are kept: a file here, empty until you import.",
            "register",
            DEFAULT_REGISTER,
        ),
        *_line("How dates are typed in your spreadsheet and your plans.", "dates", answers["dates"]),
        "",
    ]


def _groups(library: Library) -> list[str]:
    """Groups are a clinician's to choose: what may be compared is shown, and nothing is set."""
    lines = [
        "# What may be compared: places, and people, that a clinician of yours holds for alike. A place in",
        "# no group is compared with itself alone. Take away the # in front of a line to set it.",
        "# [groups.sites]",
        '# "cheeks" = ["left cheek", "right cheek"]',
    ]
    for id, stratum in library.field.strata.items():
        half = (len(stratum.values) + 1) // 2
        lines += [f"# [groups.{id}]"]
        lines += [f'# "{" to ".join((part[0], part[-1]))}" = {quoted(part)}'
                  for part in (stratum.values[:half], stratum.values[half:]) if part]  # fmt: skip
    return [*lines, ""]


def first_plan(
    library: Library, technique: Technique, *, today: date, wait: int, languages: Iterable[str]
) -> str:
    """A plan of a technique to fill in: it is read as it stands, for nobody in particular."""
    sample, told = library.field.sample, keys_of(library)
    given: dict[str, object] = {
        "reference": FIRST_REFERENCE,
        "prepared": today,
        "information_given": today,
        "treatment_date": today + timedelta(days=max(wait, _TWO_WEEKS) + 1),
        "planned": [technique.id, *technique.anaesthetics[:1]],
        "site": sample["site"],
        "sessions": 1,
        "condition": sample["condition"],
        "reason": sample["reason"],
        "clinician": "Dr Name of the clinician",
        "clinician_role": sample["clinician_role"],
    }
    given |= _of_field(library, technique, sample["site"])
    lines = [
        "# A first plan, to fill in. What stands here is an example and nobody's treatment: put your own",
        "# words in its place. It says what is planned and why, and never who the patient is: no name, no",
        "# birth date.",
        f"# `consentpack build {FIRST_PLAN.removesuffix('.toml')}` makes its pack.",
        "",
    ]
    for key, value in given.items():
        lines += [f"# {_sentence(told[key].meaning)}", f"{key} = {quoted(value)}"]
    others = ", ".join(list(languages)[1:]) or "see `consentpack translate status`"
    lines += [
        "",
        "# What may be added. Take away the # in front of a line to set it.",
        f"# {_sentence(KEYS['language'].meaning)} Here: {others}.",
        '# language = "…"',
        f"# {_sentence(KEYS['factors'].meaning)} `consentpack library list` has all.",
        f"# factors = {quoted(list(library.factors)[:1])}",
        f"# {_sentence(KEYS['may_become_necessary'].meaning)}",
        '# may_become_necessary = ["…"]',
        f"# {_sentence(KEYS['follow_up'].meaning)}",
        '# follow_up = "8 weeks after the treatment"',
    ]
    return "\n".join(lines) + "\n"


def _of_field(library: Library, technique: Technique, site: str) -> dict[str, object]:
    """What the field asks of every plan: the first value that fits."""
    regions = [region.id for region in library.regions.values() if site in region.words]
    first: dict[str, object] = {
        "region": next(iter(regions or library.regions), ""),
        "indication": next(iter(technique.indications or library.field.indications), ""),
        **{id: stratum.values[0] for id, stratum in library.field.strata.items()},
    }
    return {key: first[key] for key in library.field.plan_keys}


def _sentence(meaning: str) -> str:
    return f"{meaning[:1].upper()}{meaning[1:]}."
