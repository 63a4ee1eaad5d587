"""Writes the audit sheet of Hazel Street, a clinic that does not exist.

    python examples/make_audit.py [OUT.csv]

EVERY FIGURE HERE IS INVENTED, the chances below as much as the sheet they give. They were chosen
to make a lively demo. They are evidence of nothing, and must never be quoted to a patient.

The sheet looks like one a small clinic might keep: its own headers, day-first dates, cells left
blank, and seven slips of the keyboard that an importer ought to find. Same seed, same sheet.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import TypeVar

Key = TypeVar("Key")

SEED = 3824
TREATMENTS = 720
FIRST, LAST, SHEET_CLOSED = date(2023, 11, 1), date(2026, 10, 31), date(2026, 11, 20)
OUT = Path(__file__).parent / "hazel-street" / "audit.csv"

FAN, ENTRIES, POINTS = "needle-fan-one-entry", "needle-several-entries", "needle-point-by-point"
DEPTHS, BLADE, CANNULA = "needle-several-depths", "bevelled-blade-needle", "blunt-cannula"
FILLER = "filler-after-release"
LOCAL, BLOCK, TUMESCENT = "local-infiltration", "nerve-block-face", "tumescent-dilute"

HOW_MANY = {  # what was done together -> how often; a few rows name no anaesthetic
    (FAN, LOCAL): 150,
    (FAN, BLOCK): 62,
    (FAN, TUMESCENT): 18,
    (FAN,): 4,
    (CANNULA, TUMESCENT): 128,
    (CANNULA, LOCAL): 52,
    (CANNULA, BLOCK): 22,
    (CANNULA,): 3,
    (FAN, FILLER, LOCAL): 34,
    (FAN, FILLER, BLOCK): 12,
    (CANNULA, FILLER, LOCAL): 44,
    (BLADE, LOCAL): 66,
    (BLADE, BLOCK): 28,
    (BLADE, TUMESCENT): 12,
    (ENTRIES, LOCAL): 38,
    (ENTRIES, BLOCK): 15,
    (POINTS, LOCAL): 20,
    (DEPTHS, LOCAL): 12,
}
NEW_SINCE = date(2025, 3, 1)
NEW = (POINTS, DEPTHS)

AREAS = {
    "left cheek": 31,
    "right cheek": 29,
    "temple": 9,
    "chin": 9,
    "forehead": 7,
    "jaw line": 8,
    "upper lip": 5,
    "nose side": 3,
}
SKIN_TYPES = {"I": 5, "II": 18, "III": 27, "IV": 24, "V": 18, "VI": 8}
DARKER = ("IV", "V", "VI")
OPERATORS = {"AQ": 46, "RT": 34, "MV": 20}

WATCH = {  # the clinic's outcome columns -> days to watch before "no" means no
    "Bruise": 14,
    "Swelling": 14,
    "Sore": 14,
    "Bleeding": 2,
    "Blood pocket": 14,
    "Fluid pocket": 30,
    "Infection": 30,
    "Lasting lump": 180,
    "Dark mark": 180,
    "Light mark": 180,
    "Raised scar": 365,
    "No change": 180,
    "Sank again": 365,
    "Faint": 1,
    "Filler lump": 365,
    "Nerve": 180,
    "Shallower": 180,
    "Less pulling": 180,
    "Numb enough": 1,
    "Vessel blocked": 30,
    "Allergy": 2,
    "Numbing reaction": 2,
}
WITH_FILLER_ONLY = ("Filler lump", "Vessel blocked")
JUDGED_AT_REVIEW = ("No change", "Sank again", "Shallower", "Less pulling")
"""Not written down before the watching time has passed, whichever way it goes."""
HEADERS = [
    *("Case no", "Visit", "Date", "Techniques", "Area", "Skin type", "Last seen"),
    *WATCH,
    "Operator",
]

# Invented chances by the way of loosening the scar, in the order of RELEASES.
RELEASES = (FAN, ENTRIES, POINTS, DEPTHS, BLADE, CANNULA)
CHANCES = {
    "Bruise": (0.61, 0.66, 0.48, 0.68, 0.73, 0.43),
    "Swelling": (0.69, 0.72, 0.56, 0.74, 0.77, 0.64),
    "Sore": (0.46, 0.52, 0.42, 0.57, 0.54, 0.34),
    "Bleeding": (0.105, 0.121, 0.085, 0.13, 0.18, 0.045),
    "Blood pocket": (0.031, 0.034, 0.023, 0.047, 0.048, 0.016),
    "Fluid pocket": (0.014, 0.014, 0.015, 0.021, 0.016, 0.014),
    "Infection": (0.021, 0.025, 0.021, 0.028, 0.024, 0.017),
    "Lasting lump": (0.052, 0.058, 0.042, 0.083, 0.092, 0.028),
    "Dark mark": (0.036, 0.042, 0.034, 0.045, 0.048, 0.026),
    "Light mark": (0.014, 0.014, 0.015, 0.016, 0.016, 0.014),
    "Raised scar": (0.014, 0.014, 0.015, 0.021, 0.017, 0.014),
    "Shallower": (0.64, 0.62, 0.54, 0.61, 0.68, 0.66),
}
NUMB_ENOUGH = {LOCAL: 0.87, BLOCK: 0.91, TUMESCENT: 0.93}

SLIPS = {  # what is wrong with a row -> the day it should have been
    "no such day": date(2025, 2, 28),
    "misspelt": date(2024, 6, 18),
    "in the future": date(2026, 5, 14),
    "seen before": date(2026, 1, 14),
    "maybe": date(2025, 9, 9),
    "type VII": date(2024, 11, 21),
}
"""The seventh slip, a visit typed in twice, is made in `sheet`."""


@dataclass(frozen=True)
class Person:
    """An invented person, with the days they came and the day they were last seen."""

    days: tuple[date, ...]
    area: str
    skin_type: str
    operator: str
    last_seen: date | None
    slip: str = ""
    """For the rows that are wrong on purpose: what is wrong with it."""


def pick(random: Random, weights: dict[Key, int]) -> Key:
    """One key, as likely as its weight says."""
    return random.choices(list(weights), list(weights.values()))[0]


def open_day(random: Random, earliest: date, latest: date) -> date:
    """A weekday between the two."""
    while True:
        day = earliest + timedelta(days=random.randrange((latest - earliest).days + 1))
        if day.weekday() < 5:
            return day


def follow_up_days(random: Random) -> int:
    """How long after the last visit somebody who does come back is last seen."""
    shortest, longest = random.choices(
        [(14, 29), (30, 170), (181, 250), (251, 364), (365, 430)], [1, 2, 42, 30, 25]
    )[0]
    return random.randint(shortest, longest)


def people(random: Random) -> Iterator[Person]:
    """Invented people whose visits make up the sheet, then one for each slip."""
    left = TREATMENTS
    while left:
        wanted = min(left, random.choices([1, 2, 3, 4], [36, 30, 24, 10])[0])
        days = [open_day(random, FIRST, LAST)]
        while len(days) < wanted and days[-1] + timedelta(weeks=14) <= LAST:
            days.append(open_day(random, days[-1] + timedelta(weeks=6), days[-1] + timedelta(weeks=14)))
        left -= len(days)
        yield person(random, days, comes_back=random.random() > 0.05)
    for slip, day in SLIPS.items():
        yield person(random, [day], comes_back=True, slip=slip)


def person(random: Random, days: list[date], comes_back: bool, slip: str = "") -> Person:
    """Somebody treated on these days."""
    last_seen = days[-1] + timedelta(days=follow_up_days(random))
    if last_seen > SHEET_CLOSED:
        earliest = max(days[-1] + timedelta(days=14), SHEET_CLOSED - timedelta(days=12))
        last_seen = open_day(random, earliest, SHEET_CLOSED)
    return Person(
        days=tuple(days),
        area=pick(random, AREAS),
        skin_type=pick(random, SKIN_TYPES),
        operator=pick(random, OPERATORS),
        last_seen=last_seen if comes_back else None,
        slip=slip,
    )


def plan(random: Random, clients: list[Person]) -> dict[tuple[int, int], tuple[str, ...]]:
    """What is done at each visit (person, visit): the counts of HOW_MANY, spread over people."""
    left: Counter[tuple[str, ...]] = Counter(HOW_MANY)
    done: dict[tuple[int, int], tuple[str, ...]] = {}
    visits = [(p, v) for p, who in enumerate(clients) if not who.slip for v in range(len(who.days))]
    recent = [(p, v) for p, v in visits if clients[p].days[v] >= NEW_SINCE]
    for key in random.sample(recent, sum(n for what, n in left.items() if what[0] in NEW)):
        done[key] = pick(random, {what: n for what, n in left.items() if what[0] in NEW and n})
        left[done[key]] -= 1
    last_time: dict[int, tuple[str, ...]] = {}
    for key in visits:
        if key not in done:
            what = last_time.get(key[0], ())
            if not left[what] or random.random() > 0.8:
                what = pick(random, {what: n for what, n in left.items() if n})
            last_time[key[0]] = done[key] = what
            left[what] -= 1
    return done | {(p, 0): (FAN, LOCAL) for p, who in enumerate(clients) if who.slip}


def what_happened(random: Random, who: Person, done: tuple[str, ...]) -> dict[str, bool]:
    """Outcome -> whether it came about, whether or not anybody was there to see it."""
    chance = {name: row[RELEASES.index(done[0])] for name, row in CHANCES.items()}
    if who.skin_type in DARKER:
        chance["Dark mark"] *= 4.4
        chance["Light mark"] *= 2
        chance["Raised scar"] *= 2
    if who.area in ("chin", "jaw line", "upper lip"):
        chance["Raised scar"] *= 2
    if TUMESCENT in done:
        chance["Swelling"] += 0.08
        chance["Bleeding"] *= 0.7
        chance["Fluid pocket"] *= 2
    if FILLER in done:
        chance["Shallower"] += 0.17
    came = {name: random.random() < p for name, p in chance.items()}
    came["Bruise"] |= came["Blood pocket"] or (came["Bleeding"] and random.random() < 0.6)
    came["Lasting lump"] |= came["Blood pocket"] and random.random() < 0.25
    came["No change"] = not came["Shallower"] and random.random() < 0.62
    came["Less pulling"] = random.random() < (0.74 if came["Shallower"] else 0.31)
    came["Sank again"] = came["Shallower"] and random.random() < (0.18 if FILLER in done else 0.31)
    came["Faint"] = random.random() < (0.036 if BLOCK in done else 0.024)
    came["Filler lump"] = random.random() < 0.11
    came["Numb enough"] = random.random() < NUMB_ENOUGH.get(done[-1], 0)
    return came | dict.fromkeys(("Nerve", "Vessel blocked", "Allergy", "Numbing reaction"), False)


def cells(
    random: Random, came: dict[str, bool], done: tuple[str, ...], seen_for: int | None
) -> dict[str, str]:
    """The outcome cells as the clinic filled them in: yes, no, or nothing."""
    filled = dict.fromkeys(WATCH, "")
    if seen_for is None:
        return filled
    for name, watch in WATCH.items():
        if name in WITH_FILLER_ONLY and FILLER not in done:
            continue
        if name == "Numb enough" and done[-1] not in NUMB_ENOUGH:
            continue
        forgotten = random.random() < (0.015 if watch <= 30 else 0.01)
        long_enough = watch <= 30 or seen_for >= watch
        seen_early = came[name] and name not in JUDGED_AT_REVIEW and seen_for >= watch // 3
        if (long_enough or seen_early) and not forgotten:
            filled[name] = "yes" if came[name] else "no"
    return filled


def day_first(day: date | None) -> str:
    return day.strftime("%d/%m/%Y") if day else ""


def spoil(row: dict[str, str], slip: str) -> None:
    """Makes one row wrong in one way, as happens in real sheets."""
    match slip:
        case "no such day":
            row["Date"] = "31/02/2025"
        case "misspelt":
            row["Techniques"] = "needle-fan-one-entery; local-infiltration"
        case "in the future":
            row["Date"], row["Last seen"] = "14/05/2027", ""
        case "seen before":
            row["Last seen"] = "11/02/2025"
        case "maybe":
            row["Swelling"] = "maybe"
        case "type VII":
            row["Skin type"] = "VII"


def sheet(seed: int = SEED) -> list[dict[str, str]]:
    """The rows, in the order of the days."""
    random = Random(seed)
    clients = sorted(people(random), key=lambda who: who.days[0])
    done = plan(random, clients)
    dated: list[tuple[date, dict[str, str]]] = []
    for number, who in enumerate(clients):
        for visit, day in enumerate(who.days):
            what = done[number, visit]
            last_seen = who.last_seen or (who.days[-1] if day < who.days[-1] else None)
            came = what_happened(random, who, what)
            row = {
                "Case no": f"HS-{number + 1:04}",
                "Visit": str(visit + 1),
                "Date": day_first(day),
                "Techniques": "; ".join(what),
                "Area": who.area,
                "Skin type": who.skin_type,
                "Last seen": day_first(last_seen),
                **cells(random, came, what, (last_seen - day).days if last_seen else None),
                "Operator": who.operator,
            }
            spoil(row, who.slip)
            dated.append((day, row))
    rows = [row for _, row in sorted(dated, key=lambda pair: pair[0])]
    jaw = [row for row in rows if row["Area"] == "jaw line" and row["Nerve"] == "no"]
    jaw[len(jaw) // 2]["Nerve"] = "yes"  # the one serious event of the invented three years
    twice = rows[len(rows) // 2]
    rows.insert(len(rows) // 2 + 9, twice | {"Sore": "", "Operator": "MV"})  # typed in twice
    return rows


def main() -> None:
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    out.parent.mkdir(parents=True, exist_ok=True)
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADERS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(sheet())
    print(f"{out}: {TREATMENTS} invented treatments and 7 rows that are wrong on purpose")


if __name__ == "__main__":
    main()
