"""The clinic folder, and what must be known of its settings before its library is read."""

from __future__ import annotations

from pathlib import Path

from consentpack import shipped
from consentpack.clinic.keys import (
    DEFAULT_REGISTER,
    KEYS,
    NO_AUDIT,
    NO_REGISTER,
    SETTINGS_FILE,
    FieldFrom,
)
from consentpack.errors import ClinicError, Problem, did_you_mean, unread
from consentpack.strict import TomlText, check_table, load_toml, said, wrong_value


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


def read(folder: Path) -> tuple[bytes, str]:
    """The settings file as it lies there, and its text."""
    path = folder / SETTINGS_FILE
    try:
        written = path.read_bytes()
        return written, written.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise ClinicError(unread(str(path), error)) from None


def register_from(folder: Path) -> str:
    """Where a clinic folder keeps its register, as `Clinic.register_url`, whatever else is wrong there.

    Raises ClinicError where that cannot be told.
    """
    _, text = read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    audit = data.get("audit", NO_AUDIT)
    chosen = audit.get("register", DEFAULT_REGISTER) if isinstance(audit, dict) else None
    if not problems and not isinstance(chosen, str):
        what = "it cannot be told from this where the register is."
        problems = [Problem(TomlText(SETTINGS_FILE, text).where("register", table="audit"), what)]
    if problems:
        raise ClinicError(problems)
    return register_url(str(chosen), folder)


def register_url(register: str, folder: Path) -> str:
    """A database URL as it is, a file by its whole path, '' for a clinic that keeps no audit."""
    if register.strip().lower() == NO_REGISTER:
        return ""
    return register if "://" in register else str(folder / register)


def field_from(folder: Path) -> FieldFrom:
    """Whose field of medicine a clinic folder asks for, which must be known before its library is read.

    Raises ClinicError where that cannot be told: a guess would put another field's words into its forms.
    """
    _, text = read(folder)
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
    _, text = read(folder)
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
    _, text = read(folder)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    chosen = data.get("library", {})
    toml = TomlText(SETTINGS_FILE, text)
    if not problems and isinstance(chosen, dict):
        problems = check_table(chosen, KEYS["library"], toml=toml, name="library")
    if problems:
        raise ClinicError(problems)
    return tuple(chosen.get("without", ())) if isinstance(chosen, dict) else ()
