"""The examples as plain text, kept to be read and compared: what a change of words or figures does to them.

python tests/golden.py      writes tests/packs/golden/ anew; read the difference before you keep it
"""

from __future__ import annotations

import tempfile
from datetime import date, datetime
from pathlib import Path

from consentpack import pipeline
from consentpack.export.text import export_text

FOLDER = Path(__file__).parent / "packs" / "golden"
TODAY = date(2026, 11, 25)
LANGUAGES = ("pl", "ar")
"""Languages in which the first example is kept too."""


KEPT = ("form", "aftercare")


def trees(clinic: Path) -> dict[str, str]:
    """Name -> text of every document of the examples."""
    place = pipeline.open_workplace(clinic)
    found = {}
    for path in pipeline.plan_files(place):
        pack = pipeline.make_pack(place, path, today=TODAY)
        found |= {f"{path.stem}-{d.kind}.txt": export_text(d) for d in pack.documents}
    for language in LANGUAGES:
        pack = pipeline.make_pack(place, clinic / "plans/p-101.toml", language=language, today=TODAY)
        patient = [each for each in pack.documents if each.kind in KEPT]
        found |= {f"p-101-{d.kind}-{language}.txt": export_text(d) for d in patient}
    return found


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        clinic = pipeline.copy_demo(Path(folder) / "clinic")
        place = pipeline.open_workplace(clinic)
        pipeline.import_audit(place, clinic / "audit.csv", now=datetime(2026, 11, 25, 9), by="tests")
        FOLDER.mkdir(exist_ok=True)
        for name, text in trees(clinic).items():
            (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
