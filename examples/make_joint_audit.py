"""Writes the audit sheet of Rowan Lane, a joint clinic that does not exist.

    python examples/make_joint_audit.py [OUT.csv]

EVERY FIGURE HERE IS INVENTED, the chances below as much as the sheet they give. They are evidence of
nothing, and must never be quoted to a patient. Same seed, same sheet.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random

SEED = 5177
FIRST, LAST, SHEET_CLOSED = date(2024, 2, 1), date(2026, 9, 30), date(2026, 11, 18)
OUT = Path(__file__).parent / "joint-injections" / "audit.csv"
SIDES = ("left", "right")
WATCHED = (*(120, 130, 150, 190, 200, 220, 380, 390, 400) * 2, 30)
"""Days after which patients were last asked, most of them by letter; a few were lost."""


@dataclass(frozen=True)
class Work:
    """What was done together, how often, where, and the invented chance of each outcome."""

    done: str
    rows: int
    places: tuple[str, ...]
    chances: dict[str, float]


FLARE = {"Flare": 0.3, "Bruise": 0.2, "Flush": 0.12, "Pale patch": 0.04, "No help": 0.25, "Faint": 0.03}
RARE = {"Infection": 0.0, "Allergy": 0.0}
TENDON = {"Tear": 0.004, **RARE}
KNEES = tuple(f"{side} knee" for side in SIDES)
WORK = (
    Work("knee-steroid; skin-numbing", 78, KNEES, {**FLARE, **RARE, "Less pain": 0.7, "Lasted": 0.25}),
    Work("knee-steroid; cold-spray", 16, KNEES, {**FLARE, **RARE, "Less pain": 0.7, "Lasted": 0.25}),
    Work(
        "shoulder-steroid; skin-numbing",
        52,
        tuple(f"{side} shoulder" for side in SIDES),
        {**FLARE, **TENDON, "Flare": 0.36, "Less pain": 0.62},
    ),
    Work(
        "finger-steroid; cold-spray",
        34,
        ("thumb", "middle finger", "ring finger"),
        {**FLARE, **TENDON, "Nerve": 0.01, "Finger free": 0.65, "Lasted": 0.45, "Came back": 0.4},
    ),
    Work(
        "wrist-steroid",
        26,
        tuple(f"{side} wrist" for side in SIDES),
        {**FLARE, **TENDON, "Nerve": 0.02, "Less tingling": 0.8, "Less pain": 0.7, "Came back": 0.45},
    ),
    Work(
        "elbow-steroid; skin-numbing",
        18,
        tuple(f"{side} elbow" for side in SIDES),
        {**FLARE, **TENDON, "Less pain": 0.75, "Lasted": 0.4, "Came back": 0.5},
    ),
    Work(
        "elbow-own-blood; skin-numbing",
        8,
        tuple(f"{side} elbow" for side in SIDES),
        {**TENDON, "Flare": 0.7, "Bruise": 0.4, "Faint": 0.08, "No help": 0.3, "Lasted": 0.55},
    ),
)
OUTCOMES = ("Flare", "Bruise", "Flush", "Pale patch", "No help", "Came back", "Faint", "Infection",
            "Tear", "Nerve", "Allergy", "Less pain", "Lasted", "Finger free", "Less tingling",
            "Numb enough")  # fmt: skip
HEADER = ("Case no", "Visit", "Date", "Done", "Place", "Before", "Ml", "Last seen", *OUTCOMES)
BLANK = 0.03
"""How often nobody wrote down whether it was seen."""


def rows(random: Random) -> list[dict[str, str]]:
    every = [work for work in WORK for _ in range(work.rows)]
    random.shuffle(every)
    return [_row(random, number, work) for number, work in enumerate(every, start=1)]


def _row(random: Random, number: int, work: Work) -> dict[str, str]:
    day = FIRST + timedelta(days=random.randrange((LAST - FIRST).days + 1))
    seen = min(day + timedelta(days=random.choice(WATCHED)), SHEET_CLOSED)
    row = {
        "Case no": f"RL-{number:03}",
        "Visit": "1",
        "Date": f"{day:%d/%m/%Y}",
        "Done": work.done,
        "Place": random.choice(work.places),
        "Before": random.choices(("none", "one", "several"), (60, 28, 12))[0],
        "Ml": random.choice(("1", "2", "3", "5")) if "knee" in work.done else random.choice(("0.5", "1")),
        "Last seen": f"{seen:%d/%m/%Y}",
    }
    chances = dict(work.chances)
    if "skin-numbing" in work.done or "cold-spray" in work.done:
        chances["Numb enough"] = 0.9
    for name in OUTCOMES:
        if name in chances and random.random() >= BLANK:
            row[name] = "yes" if random.random() < chances[name] else "no"
    return row


def main(out: Path) -> None:
    with out.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, HEADER, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows(Random(SEED)))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else OUT)
