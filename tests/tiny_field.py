"""A field of medicine written from nothing, a hand clinic's: its content, plan and sheet.

Everything in it is invented, the figures too; it is evidence of nothing. The telephone numbers are from a
range the UK regulator keeps for drama.
"""

from __future__ import annotations

from pathlib import Path

from consentpack.library.tables import RATE_COLUMNS

FIELD = """
[field]
name = "stuck fingers in a hand clinic (invented)"
plan_keys = ["region", "dominance"]
topics = ["hand-rest"]
may_not_work = ["sticks-again"]

[kinds.opening]
meaning = "opens a tight band so that a cord can glide"
role = "treats"

[kinds.numbing]
meaning = "numbs the place for what treats it"
role = "numbs"

[indications.stuck]
meaning = "a finger that catches when it bends"

[strata.dominance]
title = "hand dominance"
values = ["writing", "other"]
meaning = "whether it is the hand the person writes with (common practice, no source)"
synonyms = ["which hand"]

[phrases]
no_promise = "I know that no one can promise how well my finger will move."
closest = "From {total} here to hands like yours, watched for {time}."

[sample]
site = "ring finger"
condition = "a finger that sticks"
reason = "You want your finger to bend with ease."
clinician_role = "hand surgeon"
"""
REGIONS = """
[hand]
title = "the hand"
words = ["hand"]

[finger]
title = "the finger"
within = "hand"
words = ["ring finger"]
"""
SETTINGS = """
[finger_rest]
default = 3
unit = "days"
lowest = 1
highest = 7
why = "Invented for a test [M]."
sources = ["common-practice"]
"""

# folder/id -> front matter beyond what every module has, and its sections
MODULES: dict[str, tuple[str, dict[str, str]]] = {
    "techniques/band-opening": (
        'title = "Opening a tight band"\nphrase = "a small cut to open the tight band"\nkind = "opening"\n'
        'standing = "established"\nanaesthetics = ["cold-spray"]\nindications = ["stuck"]\n'
        'risks = ["sore-palm", "stiff-finger", "sticks-again"]\nbenefits = ["smooth-bend"]\n'
        'options = ["leave-it", "night-splint"]\naftercare = ["hand-rest"]\n'
        'warnings = ["no-blood", "hot-hand", "numb-tip", "slow-bend"]',
        {
            "What it is": "A band in your palm holds a cord too tight. We open the band.",
            "What happens on the day": "1. We numb your palm.\n2. We open it.\n3. You bend your finger.",
            "How it feels": "You may feel us push. You should feel no pain.",
            "What it may gain": "Your finger may bend with ease again.",
            "How sure we are": "We know of no good count. We tell you what we see here.",
            "Recovery": "Rest your hand for {{ care.finger_rest }}. Then use it as before.",
            "Not good for": "- Your hand is hot and full of pus. We treat that first.",
        },
    ),
    "techniques/cold-spray": (
        'title = "A cold spray"\nphrase = "a cold spray on your palm"\nkind = "numbing"\n'
        'standing = "established"\nrisks = ["sore-palm"]\nbenefits = ["smooth-bend"]\n'
        'aftercare = ["hand-rest"]\nwarnings = ["numb-tip"]',
        {
            "What it is": "This is a cold spray. It stops your palm from feeling pain.",
            "What happens on the day": "1. We spray your palm.\n2. We test that it is numb.",
            "How it feels": "It feels very cold for a short time.",
            "How sure we are": "People have used it for a long time. We know of no good count.",
            "Recovery": "The numb feeling goes in an hour.",
        },
    ),
    "risks/sore-palm": (
        'title = "A sore palm"\nclinical = "palm pain"\ngroup = "expected"\nwatch_days = 30\n'
        'starts = [0, 3]\nsigns = ["hot-hand"]',
        {
            "What you may notice": "Your palm hurts when you grip.",
            "How long it lasts": "It lasts for some weeks.",
            "What is done about it": "Rest your hand. Ask us about pain tablets.",
            "In your diary": "Does your palm hurt today?",
        },
    ),
    "risks/stiff-finger": (
        'title = "A stiff finger"\nclinical = "loss of movement"\ngroup = "possible"\nwatch_days = 30\n'
        'signs = ["slow-bend"]',
        {
            "What you may notice": "Your finger does not bend all the way.",
            "How long it lasts": "It may last for months.",
            "What is done about it": "We show you how to bend it each day.",
        },
    ),
    "risks/sticks-again": (
        'title = "It sticks again"\nclinical = "return"\ngroup = "serious"\nwatch_days = 30',
        {
            "What you may notice": "Your finger catches again when you bend it.",
            "How long it lasts": "It may stay so for good.",
            "What is done about it": "We may open the band again.",
        },
    ),
    "benefits/smooth-bend": (
        'title = "A finger that bends with ease"\nclinical = "free glide"\nwatch_days = 30',
        {
            "What you may notice": "Your finger bends and does not catch.",
            "How long it lasts": "It may last for good.",
        },
    ),
    "options/leave-it": (
        'title = "Leaving it as it is"\nno_treatment = true',
        {
            "What it is": "We leave your finger as it is.",
            "What it may gain": "You have no cut. Some fingers come free in time.",
            "What can go wrong": "Your finger may go on catching.",
            "What we do not know": "We do not know what your finger will do.",
        },
    ),
    "options/night-splint": (
        'title = "A splint at night"',
        {
            "What it is": "You wear a splint when you sleep.",
            "What it may gain": "Your finger may rest and come free.",
            "What can go wrong": "It may not help. It may feel tight.",
            "What we do not know": "We do not know how long you must wear it.",
        },
    ),
    "aftercare/hand-rest": (
        'title = "Rest your hand"\norder = 10',
        {
            "What to expect": "- Your palm may hurt when you grip.",
            "When you can": "- **Lift a bag**: after {{ care.finger_rest }}.",
            "Tonight: do": "- Keep your hand up on a pillow, so that it throbs less.",
            "Tomorrow: do": "- Bend your finger ten times, so that it stays free.",
            "First week: avoid": "- Do not grip hard, as your palm must mend.",
            "Later: do": "- Use your hand as you did before.",
        },
    ),
    "warnings/no-blood": (
        'title = "No blood in your finger"\ntier = "ambulance"\norder = 10\nshort = "a white, cold finger"',
        {
            "Signs": "- Your finger turns white or grey and cold, and stays so.",
            "What to do": "- Ring {{ clinic.emergency_number }} now.",
        },
    ),
    "warnings/hot-hand": (
        'title = "A hot hand"\ntier = "at-once"\norder = 20\nshort = "a hot hand that throbs"',
        {
            "Signs": "- Your hand is hot and throbs, or pus comes out.",
            "What to do": "- Ring {{ clinic.phone }} now, day or night.",
        },
    ),
    "warnings/numb-tip": (
        'title = "A numb tip"\ntier = "same-day"\norder = 30\nshort = "a numb finger tip"',
        {
            "Signs": "- The tip of your finger is numb the next day.",
            "What to do": "- Ring {{ clinic.phone }} today.",
        },
    ),
    "warnings/slow-bend": (
        'title = "A finger slow to bend"\ntier = "at-visit"\norder = 40\n'
        'short = "a finger that is slow to bend"',
        {"Signs": "- Your finger is slow to bend.", "What to do": "- Tell us at your next visit."},
    ),
}  # fmt: skip
CLINIC = """
[clinic]
name = "Beech Lane Hand Clinic (invented)"
address = ["2 Beech Lane", "Example Town", "EX1 1EX"]
phone = "020 7946 0301"
phone_out_of_hours = "020 7946 0399"
hours = "Monday to Friday, 9 to 5"
emergency_number = "999"
invented = true
field = "own"

[consent]
rules = "uk-cosmetic"

[audit]
dates = "year-first"

[audit.columns]
"Case" = "case"
"Session" = "session"
"Date" = "date"
"Techniques" = "techniques"
"Site" = "site"
"Which hand" = "dominance"
"Last seen" = "last_seen"
"Sore" = "sore-palm"
"Stiff" = "stiff-finger"
"Again" = "sticks-again"
"Smooth" = "smooth-bend"
"""
PLAN = """
reference = "BL-1"
prepared = 2026-11-20
planned = ["band-opening", "cold-spray"]
site = "ring finger"
region = "finger"
dominance = "writing"
sessions = 1
condition = "a finger that sticks"
reason = "Your finger catches when you bend it. You told us that it hurts."
clinician = "Dr Ida Lund"
clinician_role = "hand surgeon"
"""
NOTHING = "# This field has none.\n"
EMPTY = {
    "suitability.toml": NOTHING,
    "waits.toml": NOTHING,
    "glossary.toml": NOTHING,
    "published_rates.csv": f"{','.join(RATE_COLUMNS)}\n",
}
"""Tables with nothing in them: a field says so, since one that is not there may have been lost."""
TREATMENTS, SORE, STIFF, AGAIN, SMOOTH = 160, 64, 24, 16, 120
"""What the invented sheet holds: rows, and how many of them say yes."""


def module(folder: str, id: str) -> str:
    front, sections = MODULES[f"{folder}/{id}"]
    dates = "reviewed = 2026-11-20\nreview_by = 2028-11-20"
    head = f'id = "{id}"\nversion = "1"\n{dates}\nsources = ["common-practice"]\n{front}'
    body = "\n\n".join(f"## {label}\n\n{text}" for label, text in sections.items())
    return f"+++\n{head}\n+++\n\n{body}\n"


def sheet() -> str:
    rows = ["Case,Session,Date,Techniques,Site,Which hand,Last seen,Sore,Stiff,Again,Smooth"]
    for n in range(TREATMENTS):
        said = ("yes" if n < some else "no" for some in (SORE, STIFF, AGAIN, SMOOTH))
        day = f"2026-0{n % 6 + 1}-10"
        done = "band-opening; cold-spray,ring finger,writing,2026-09-20"
        rows.append(f"B-{n},1,{day},{done},{','.join(said)}")
    return "\n".join(rows) + "\n"


def written(folder: Path) -> Path:
    files = {"clinic.toml": CLINIC, "plans/bl-1.toml": PLAN, "audit.csv": sheet()}
    tables = {"field.toml": FIELD, "regions.toml": REGIONS, "settings.toml": SETTINGS}
    files |= {f"content/{name}": text for name, text in {**tables, **EMPTY}.items()}
    files |= {f"content/{name}.md": module(*name.split("/")) for name in MODULES}
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder
