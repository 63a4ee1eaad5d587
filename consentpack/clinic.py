"""The clinic folder and its settings. Commands find the folder from anywhere inside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal, Protocol

from consentpack import brand, shipped
from consentpack.errors import ClinicError, Problem, did_you_mean, unread
from consentpack.files import write_file
from consentpack.limits import LONGEST_WINDOW
from consentpack.model import (
    LIMITS,
    Brand,
    CareSetting,
    Clinic,
    ConsentRule,
    ConsentRules,
    DocumentPlan,
    Field,
    LengthTarget,
    ReadingRules,
    ReadingTarget,
    Stratum,
    WatchRules,
)
from consentpack.normal import place
from consentpack.strict import Key, TomlText, check_table, dated, load_toml, said, with_days, wrong_value

SETTINGS_FILE = "clinic.toml"
DEFAULT_WINDOW_MONTHS = 36
DEFAULT_REGISTER = "register.sqlite"
FieldFrom = Literal["shipped", "own"]
FIELDS_FROM: tuple[FieldFrom, ...] = ("shipped", "own")
"""Whose field of medicine a clinic works in: the one that comes with the program, or its own alone."""
DATE_ORDERS = ("day-first", "month-first", "year-first")
PHOTOGRAPHS = ("notes", "teaching", "publication", "publicity")

KEYS: Mapping[str, Mapping[str, Key]] = {
    "clinic": {
        "name": Key(str, "the clinic's name as patients know it"),
        "address": Key(list, "lines of the address"),
        "phone": Key(str, "number in opening hours"),
        "phone_out_of_hours": Key(str, "number at night and at weekends"),
        "hours": Key(str, "opening hours, in words"),
        "emergency_number": Key(str, "number of the ambulance in this country"),
        "language": Key(str, "the clinic's own language, such as en-GB", required=False),
        "field": Key(
            str, '"own": only the clinic\'s own field of medicine, without ours', False, FIELDS_FROM
        ),
        "invented": Key(bool, "true for a made-up clinic: every page then says so", required=False),
    },
    "readability": {
        "target": Key(str, "a published reading target, by its name", required=False),
        "target_grade": Key(float, "or: highest school grade a patient document may need", required=False),
        "documents": Key(dict, "kind of document -> a target of its own, name or grade", required=False),
        "languages": Key(dict, "language -> the target of documents in it", required=False),
    },
    "rates": {"window_months": Key(int, "how many months back treatments are counted", most=LONGEST_WINDOW)},
    "audit": {
        "dates": Key(str, "how dates are typed", False, DATE_ORDERS),
        "register": Key(str, 'where the register is kept; "none": this clinic keeps no audit', False),
        "columns": Key(dict, "the spreadsheet's headers -> what they hold", required=False),
        "words": Key(dict, "own words in its cells -> ids, yes, no or not recorded", required=False),
        "list_covers": Key(list, "outcomes that a list column speaks of", required=False),
    },
    "watch": {
        "baseline_until": Key(date, "treatments up to this day give the baseline"),
        "odds_ratio": Key(float, "the change to be found, as a ratio of odds; 2 is usual"),
        "run_length": Key(int, "treatments, on average, until a false signal"),
        "limits": Key(float, "limits of groups side by side, 95 or 99.8 percent; 99.8 without it", False),
        "adjust_for": Key(list, '"site", or strata of the field, that the expected number depends on', False),
    },
    "consent": {
        "rules": Key(str, "the law or body the clinic works under, by its name"),
        "wait_days": Key(int, "days to think, if more than that asks", required=False, least=0),
        "minimum_age": Key(int, "lowest age, if higher than that asks", required=False),
        "taken_by": Key(
            str, "who takes consent, if stricter than that asks", False, allowed=("operator", "trained")
        ),
        "photographs": Key(list, "purposes asked about, each by itself", False, allowed=PHOTOGRAPHS),
    },
    "groups": {
        "sites": Key(dict, "name of a group -> the sites compared together", required=False),
    },
    "library": {
        "field": Key(str, "a shipped field of medicine by its name; the usual one without it", False),
        "without": Key(list, "modules this clinic does without, as folder/id", required=False),
    },
    "desk": {
        "people": Key(list, "who works at the desk: the names under which things are done there", False),
    },
    "brand": brand.KEYS,
}
"""Tables and keys of clinic.toml. [care] holds the names of content/settings.toml."""
LENGTH_KEYS: Mapping[str, Key] = {
    name: Key(int, f"at most so many {meaning}; 0 for no limit", required=False, least=0)
    for name, meaning in LIMITS.items()
}
"""Keys of each table [length.DOCUMENT]."""

_OWN_NAMES = ("care", "length")
"""Tables whose keys are names of the library."""
_OPTIONAL_TABLES = (
    "consent",
    "readability",
    "rates",
    "audit",
    "watch",
    "groups",
    "library",
    "desk",
    "brand",
    *_OWN_NAMES,
)


def find_clinic(start: Path) -> Path:
    """The nearest folder at or above `start` that holds clinic.toml.

    Raises ClinicError when there is none.
    """
    for folder in (start.resolve(), *start.resolve().parents):
        if (folder / SETTINGS_FILE).is_file():
            return folder
    what = f"this is not inside a clinic folder: there is no {SETTINGS_FILE} here or above."
    fix = (
        "Go into the clinic's folder or add --clinic DIR. `consentpack start DIR` makes a folder for your "
        "clinic; `consentpack demo` one of an invented clinic."
    )
    raise ClinicError(Problem(str(start), what, fix))


def register_from(folder: Path) -> str:
    """Where a clinic folder keeps its register, as `Clinic.register_url`, whatever else is wrong there.

    Raises ClinicError where that cannot be told.
    """
    _, text = _read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    audit = data.get("audit", _NO_AUDIT)
    chosen = audit.get("register", DEFAULT_REGISTER) if isinstance(audit, dict) else None
    if not problems and not isinstance(chosen, str):
        what = "it cannot be told from this where the register is."
        problems = [Problem(TomlText(SETTINGS_FILE, text).where("register", table="audit"), what)]
    if problems:
        raise ClinicError(problems)
    return _register_url(str(chosen), folder)


class Names(Protocol):
    """What of a library settings may name; a `Library` is one."""

    @property
    def settings(self) -> Mapping[str, CareSetting]: ...
    @property
    def targets(self) -> Mapping[str, ReadingTarget]: ...
    @property
    def rules(self) -> Mapping[str, ConsentRule]: ...
    @property
    def documents(self) -> Mapping[str, DocumentPlan]: ...
    @property
    def lengths(self) -> Mapping[str, LengthTarget]: ...
    @property
    def field(self) -> Field: ...


def load_clinic(folder: Path, names: Names) -> Clinic:
    """The settings of a clinic folder. Raises ClinicError with everything that is wrong.

    `names` is the library: what a clinic may set, and what it may name.
    """
    written, text = _read(folder)
    toml = TomlText(SETTINGS_FILE, text)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    data = _with_days(data)
    if not problems:
        problems = _check(data, toml, names) or _check_register(data, folder)
        problems = problems or _check_reading(data.get("readability", {}), toml, names.targets)
    if not problems and "consent" in data:
        problems = _check_consent(data["consent"], toml, names.rules)
    look = Brand()
    if not problems:
        look, problems = brand.read_brand(data.get("brand", {}), folder, partial(toml.where, table="brand"))
    if problems:
        raise ClinicError(problems)
    read = {SETTINGS_FILE: sha256(written).hexdigest(), **{f"brand: {name}": d for name, d in look.files}}
    return replace(_made(data, folder, names.rules, look), digests=read)


def _read(folder: Path) -> tuple[bytes, str]:
    """The settings file as it lies there, and its text."""
    path = folder / SETTINGS_FILE
    try:
        written = path.read_bytes()
        return written, written.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise ClinicError(unread(str(path), error)) from None


def field_from(folder: Path) -> FieldFrom:
    """Whose field of medicine a clinic folder asks for, which must be known before its library is read.

    Raises ClinicError where that cannot be told: a guess would put another field's words into its forms.
    """
    _, text = _read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    clinic = data.get("clinic")
    chosen = clinic.get("field", "shipped") if isinstance(clinic, dict) else "shipped"
    if not problems and (wrong := wrong_value(KEYS["clinic"]["field"], chosen)):
        where = TomlText(SETTINGS_FILE, text).where("field", table="clinic")
        problems = [Problem(where, f"'field' {wrong}")]
    if problems:
        raise ClinicError(problems)
    return "own" if chosen == "own" else "shipped"


def named_field_from(folder: Path) -> str:
    """The shipped field that a clinic folder names; '' for the usual one. It must be known before its
    library is read.

    Raises ClinicError where it is no such field, or where the clinic has one of its own beside.
    """
    _, text = _read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    library = data.get("library")
    named = library.get("field", "") if isinstance(library, dict) else ""
    where = TomlText(SETTINGS_FILE, text).where("field", table="library")
    if not problems and named and named not in shipped.fields():
        fix = did_you_mean(str(named), shipped.fields()) or f"There are: {', '.join(shipped.fields())}."
        problems = [Problem(where, f"there is no field {said(named)} here.", fix)]
    elif not problems and named and field_from(folder) == "own":
        what = f"the field '{named}' is named here, and [clinic] says that the clinic has its own."
        problems = [Problem(where, what, "Take one of the two away.")]
    if problems:
        raise ClinicError(problems)
    return str(named)


def without_from(folder: Path) -> tuple[str, ...]:
    """The modules that a clinic folder switches off, which must be known before its library is read.

    Raises ClinicError where that cannot be told: what was switched off must not come back for a slip.
    """
    _, text = _read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    chosen = data.get("library", {})
    toml = TomlText(SETTINGS_FILE, text)
    if not problems and isinstance(chosen, dict):
        problems = check_table(chosen, KEYS["library"], toml=toml, name="library")
    if problems:
        raise ClinicError(problems)
    return tuple(chosen.get("without", ())) if isinstance(chosen, dict) else ()


def keep_columns(
    folder: Path, columns: Mapping[str, str], words: Mapping[str, str], *, dates: str = ""
) -> Path:
    """Put a column map into clinic.toml, own words beside those it has, and how days are typed where that is
    given; everything else there stays as it was written."""
    import tomlkit  # noqa: PLC0415 - only here is a settings file written

    path = folder / SETTINGS_FILE
    document = tomlkit.parse(with_days(path.read_text(encoding="utf-8-sig")))
    table = tomlkit.table()
    for header, meaning in columns.items():
        table[header] = meaning
    if "audit" not in document:
        document["audit"] = tomlkit.table()
        document["audit"]["register"] = NO_REGISTER  # a map alone begins no audit
    if dates:
        document["audit"]["dates"] = dates
    document["audit"]["columns"] = table
    for word, meaning in words.items():
        document["audit"].setdefault("words", tomlkit.table())[word] = meaning
    write_file(path, tomlkit.dumps(document))
    return path


def _with_days(data: dict[str, Any]) -> dict[str, Any]:
    """The settings with the days of [watch] read, by the order in which the clinic types dates."""
    watch, audit = data.get("watch"), data.get("audit")
    order = audit.get("dates", "") if isinstance(audit, dict) else ""
    return {**data, "watch": dated(watch, KEYS["watch"], str(order))} if isinstance(watch, dict) else data


def _check_register(data: Mapping[str, Any], folder: Path) -> list[Problem]:
    """No clinic forgets an audit it has."""
    if "audit" in data or not (folder / DEFAULT_REGISTER).exists():
        return []
    what = f"there is a register here ({DEFAULT_REGISTER}), and no table [audit]: nothing would be counted."
    fix = f'Write [audit] with register = "{DEFAULT_REGISTER}", or register = "none", in it.'
    return [Problem(SETTINGS_FILE, what, fix)]


def _check(data: Mapping[str, Any], toml: TomlText, names: Names) -> list[Problem]:
    strata = names.field.strata
    problems = []
    for name in data:
        if name not in KEYS and name not in _OWN_NAMES:
            fix = did_you_mean(name, (*KEYS, *_OWN_NAMES))
            problems.append(Problem(SETTINGS_FILE, f"there is no table [{name}].", fix))
    for name in (*KEYS, *_OWN_NAMES):
        if name not in data:
            if name not in _OPTIONAL_TABLES:
                problems.append(Problem(SETTINGS_FILE, f"the table [{name}] is missing."))
        elif not isinstance(data[name], dict):
            what = f"'{name}' should be a table; it is {said(data[name])}."
            problems.append(Problem(toml.where(name), what, f"Write [{name}] on a line of its own."))
        elif name in KEYS:
            more = _stratum_keys(strata) if name == "groups" else {}
            problems += check_table(data[name], {**KEYS[name], **more}, toml=toml, name=name)
    if not problems:
        problems = _check_numbers(data["clinic"], toml)
        problems += _check_groups(data, toml, strata) + _check_care(
            data.get("care", {}), toml, names.settings
        )
        problems += _check_meanings(data.get("audit", {}), toml)
        problems += _check_length(data.get("length", {}), toml, {**names.documents, **names.lengths})
        problems += _check_watch(data.get("watch", {}), toml, strata)
    return problems


NUMBERS = ("phone", "phone_out_of_hours", "emergency_number")


def wrong_number(key: str, words: str) -> str:
    """What is wrong with a number to ring, finishing a sentence that begins with its key; '' if nothing."""
    if key not in NUMBERS or sum(letter.isdigit() for letter in words) >= _FEWEST_DIGITS:
        return ""
    return f"should be a number that can be rung; it is '{words}'."


_FEWEST_DIGITS = 3
"""Of a number to ring: an ambulance's has three (112, 911, 999)."""


def _check_numbers(clinic: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    """A patient who bleeds at night must not find a word where a number should stand."""
    return [
        Problem(toml.where(key, table="clinic"), f"'{key}' {wrong}")
        for key in NUMBERS
        if (wrong := wrong_number(key, clinic[key]))
    ]


def _check_watch(watch: Mapping[str, Any], toml: TomlText, strata: Mapping[str, Stratum]) -> list[Problem]:
    problems = []
    if watch.get("odds_ratio", 2) <= 1:
        what = "'odds_ratio' should be above 1: it is the change that is looked for."
        problems.append(Problem(toml.where("odds_ratio"), what))
    if watch.get("limits", 95) not in (95, 99.8):
        what = f"'limits' should be 95 or 99.8; it is {watch['limits']}."
        fix = "With 95 and some dozens of groups somebody nearly always stands out by chance alone."
        problems.append(Problem(toml.where("limits", table="watch"), what, fix))
    for name in watch.get("adjust_for", ()):
        if name != "site" and name not in strata:
            what = f"'adjust_for' names '{name}', which is not recorded of a treatment."
            fix = did_you_mean(name, ("site", *strata)) or f"There are: {', '.join(('site', *strata))}."
            problems.append(Problem(toml.where("adjust_for", name, table="watch"), what, fix))
    return problems


def _stratum_keys(strata: Mapping[str, Stratum]) -> dict[str, Key]:
    """[groups] may group the values of each stratum of the field, under its own name."""
    return {
        id: Key(dict, f"name of a group -> the {s.title}s compared together", required=False)
        for id, s in strata.items()
    }


def _check_meanings(audit: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    """What headers and words of the spreadsheet stand for is said in words."""
    return [
        Problem(
            toml.where(name, table=f"audit.{table}"),
            f"'{name}' should be words in quotes; it is {said(meaning)}.",
            'Write it as "Header" = "bruising".',
        )
        for table in ("columns", "words")
        for name, meaning in audit.get(table, {}).items()
        if not isinstance(meaning, str)
    ]


def _check_groups(data: Mapping[str, Any], toml: TomlText, strata: Mapping[str, Stratum]) -> list[Problem]:
    problems = []
    for kind, groups in data.get("groups", {}).items():
        seen: dict[str, str] = {}
        for name, members in groups.items():
            if not isinstance(members, list) or not all(isinstance(m, str) for m in members):
                problems.append(Problem(toml.where(name), f"'{name}' should be a list of words."))
                continue
            for member in members:
                same = place(member) if kind == "sites" else member
                if same in seen:
                    what = f"'{member}' is in two groups, '{seen[same]}' and '{name}'."
                    problems.append(Problem(toml.where(name, member), what))
                if kind in strata and member not in strata[kind].values:
                    there = ", ".join(strata[kind].values)
                    what = f"there is no {strata[kind].title} '{member}'; use {there}."
                    problems.append(Problem(toml.where(name, member), what))
                seen[same] = name
    return problems


def _check_reading(
    reading: Mapping[str, Any], toml: TomlText, known: Mapping[str, ReadingTarget]
) -> list[Problem]:
    """Every reading target must be a published one by name, or a grade above 0."""
    problems = []
    if "target" in reading and "target_grade" in reading:
        what = "'target' and 'target_grade' are both there; keep one."
        problems.append(Problem(toml.where("target_grade"), what))
    named = {"target": reading["target"]} if "target" in reading else {}
    for table in ("documents", "languages"):
        named |= reading.get(table, {})
    for name, chosen in named.items():
        if isinstance(chosen, str) and chosen not in known:
            fix = did_you_mean(chosen, known) or f"There are: {', '.join(known)}."
            problems.append(Problem(toml.where(name), f"there is no reading target '{chosen}'.", fix))
        elif not isinstance(chosen, str) and (type(chosen) not in (int, float) or not 0 < chosen < 20):
            what = (
                f"'{name}' should be a target's name in quotes, or a grade such as 6; it is {said(chosen)}."
            )
            problems.append(Problem(toml.where(name), what))
    return problems


def _check_consent(
    consent: Mapping[str, Any], toml: TomlText, known: Mapping[str, ConsentRule]
) -> list[Problem]:
    """The named rule must exist, and the clinic may only be stricter than it."""
    rule = known.get(consent["rules"])
    if rule is None:
        fix = did_you_mean(consent["rules"], known) or f"There are: {', '.join(known)}."
        what = f"there is no rule '{consent['rules']}' about consent."
        return [Problem(toml.where("rules", table="consent"), what, fix)]
    problems = []
    for name, least in (("wait_days", rule.wait_days), ("minimum_age", rule.minimum_age)):
        if name in consent and consent[name] < least:
            what = f"'{name}' is {consent[name]}; {rule.where} asks for {least}."
            problems.append(Problem(toml.where(name, table="consent"), what, "It may be more, never less."))
    if rule.taken_by == "operator" and consent.get("taken_by") == "trained":
        what = f"'taken_by' is 'trained'; {rule.where} asks that whoever does the treatment takes consent."
        problems.append(Problem(toml.where("taken_by", table="consent"), what))
    return problems


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


def _check_length(tables: Mapping[str, Any], toml: TomlText, known: Mapping[str, Any]) -> list[Problem]:
    """A limit of a misspelt document would limit nothing."""
    problems = []
    for kind, limits in tables.items():
        if kind not in known:
            fix = did_you_mean(kind, known) or f"There are: {', '.join(known)}."
            where = toml.where(f"length.{kind}")
            problems.append(Problem(where, f"there is no document '{kind}' whose length could be set.", fix))
        elif not isinstance(limits, dict):
            what = f"'{kind}' should be a table; it is {said(limits)}."
            problems.append(Problem(toml.where(kind, table="length"), what, f"Write [length.{kind}]."))
        else:
            problems += check_table(limits, LENGTH_KEYS, toml=toml, name=f"length.{kind}")
    return problems


def _check_care(care: Any, toml: TomlText, known: Mapping[str, CareSetting]) -> list[Problem]:
    problems = []
    for name, value in care.items():
        if name not in known:
            fix = did_you_mean(name, known)
            problems.append(Problem(toml.where(name), f"there is no care setting '{name}'.", fix))
            continue
        setting = known[name]
        if type(value) is not int or not setting.lowest <= value <= setting.highest:
            what = (
                f"'{name}' should be from {setting.lowest} to {setting.highest} {setting.unit};"
                f" it is {said(value)}."
            )
            problems.append(Problem(toml.where(name), what, setting.why))
    return problems


def _made(data: Mapping[str, Any], folder: Path, rules: Mapping[str, ConsentRule], look: Brand) -> Clinic:
    clinic, audit, groups = data["clinic"], data.get("audit", _NO_AUDIT), data.get("groups", {})
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
        people=tuple(data.get("desk", {}).get("people", ())),
        register_url=_register_url(audit.get("register", DEFAULT_REGISTER), folder),
    )


def _watch(watch: Mapping[str, Any]) -> WatchRules:
    return WatchRules(**{**watch, "adjust_for": tuple(watch.get("adjust_for", ()))})


def _by_member(groups: Mapping[str, list[str]]) -> dict[str, str]:
    return {member: name for name, members in groups.items() for member in members}


NO_REGISTER = "none"
"""What a clinic writes that keeps no audit: a missing register is never taken for that."""
_NO_AUDIT: Mapping[str, Any] = {"register": NO_REGISTER}
"""What clinic.toml says without a table [audit]."""


def _register_url(register: str, folder: Path) -> str:
    """A database URL as it is, a file by its whole path, '' for a clinic that keeps no audit."""
    if register.strip().lower() == NO_REGISTER:
        return ""
    return register if "://" in register else str(folder / register)
