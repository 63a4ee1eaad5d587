"""The settings of a clinic folder, read and checked."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from consentpack import brand
from consentpack.clinic.check_rules import check_consent, check_reading
from consentpack.clinic.checks import Names, check, check_register
from consentpack.clinic.folder import read
from consentpack.clinic.keys import KEYS, SETTINGS_FILE
from consentpack.clinic.made import made
from consentpack.errors import ClinicError
from consentpack.model import Brand, Clinic
from consentpack.strict import TomlText, dated, load_toml


def load_clinic(folder: Path, names: Names) -> Clinic:
    """The settings of a clinic folder. Raises ClinicError with everything that is wrong.

    `names` is the library: what a clinic may set, and what it may name.
    """
    written, text = read(folder)
    toml = TomlText(SETTINGS_FILE, text)
    data, problems = load_toml(text, file=SETTINGS_FILE)
    data = _with_days(data)
    if not problems:
        problems = check(data, toml, names) or check_register(data, folder)
        problems = problems or check_reading(data.get("readability", {}), toml, names.targets)
    if not problems and "consent" in data:
        problems = check_consent(data["consent"], toml, names.rules)
    look = Brand()
    if not problems:
        look, problems = brand.read_brand(data.get("brand", {}), folder, partial(toml.where, table="brand"))
    if problems:
        raise ClinicError(problems)
    digests = {SETTINGS_FILE: sha256(written).hexdigest(), **{f"brand: {name}": d for name, d in look.files}}
    return replace(made(data, folder, names.rules, look), digests=digests)


def _with_days(data: dict[str, Any]) -> dict[str, Any]:
    """The settings with the days of [watch] read, by the order in which the clinic types dates."""
    watch, audit = data.get("watch"), data.get("audit")
    order = audit.get("dates", "") if isinstance(audit, dict) else ""
    return {**data, "watch": dated(watch, KEYS["watch"], str(order))} if isinstance(watch, dict) else data
