"""Builds consentpack/readability/common.txt from the English list of the package wordfreq.

python docs/build_common_words.py            writes the table
python docs/build_common_words.py --check    says whether it is out of date, exit code 1

wordfreq takes 58 MB with its forty languages, and is no longer changed: its maker ended it with the words of
2021. So the table is made once and shipped, and nobody needs the package who only scores texts.
"""

from __future__ import annotations

import sys
from importlib.metadata import version

from wordfreq import get_frequency_dict, zipf_frequency

from consentpack.readability.common import LOWEST, TABLE
from consentpack.readability.grouped import grouped_text

ABOUT = f"""\
# How common English words are: their Zipf values, from the large list of wordfreq {version("wordfreq")}.
# Changed from it: only words of the letters a to z and the apostrophe, of a Zipf value of {LOWEST} or more.
# Built by docs/build_common_words.py. Do not edit.
#
# These data stay under the Creative Commons Attribution-ShareAlike 4.0 licence,
# https://creativecommons.org/licenses/by-sa/4.0/, apart from this project's own licence. Credit belongs to:
#
# Robyn Speer. (2022). rspeer/wordfreq: v3.0 (v3.0.2). Zenodo. https://doi.org/10.5281/zenodo.7199437
# Words up to 2021, from: Google Books Ngrams (http://books.google.com/ngrams); the Leeds Internet
# Corpus, Centre for Translation Studies, University of Leeds (http://corpus.leeds.ac.uk/list.html);
# Wikipedia; ParaCrawl (https://paracrawl.eu); OPUS OpenSubtitles 2018 (http://opus.nlpl.eu/OpenSubtitles.php,
# http://www.opensubtitles.org); SUBTLEX-US and SUBTLEX-UK by Marc Brysbaert and others, which are freely
# available (http://crr.ugent.be/programs-data/subtitle-frequencies); and counts of words on Twitter.
#
"""


def made() -> str:
    """The table as it should be."""
    words = (word for word in get_frequency_dict("en", wordlist="large") if word.isascii())
    kept = (word for word in words if word.replace("'", "").isalpha())
    values = {word: zipf_frequency(word, "en", wordlist="large") for word in kept}
    common = {word: f"{value:.2f}" for word, value in values.items() if value >= LOWEST}
    return grouped_text(common, ABOUT, order=sorted(set(common.values()), reverse=True))


def main() -> None:
    text = made()
    if "--check" not in sys.argv:
        TABLE.write_text(text, encoding="utf-8", newline="\n")
    elif text != TABLE.read_text(encoding="utf-8"):
        sys.exit(f"{TABLE} is out of date. Run: python docs/build_common_words.py")


if __name__ == "__main__":
    main()
