"""Builds consentpack/readability/common.txt from the English list of the package wordfreq.

python docs/build_common_words.py            writes the table
python docs/build_common_words.py --check    says whether it is out of date, exit code 1

wordfreq takes 58 MB with its forty languages, and is no longer changed: its maker ended it with the words of
2021. So the table is made once and shipped, and nobody needs the package who only scores texts.
"""

from __future__ import annotations

import sys
from hashlib import sha256
from importlib.metadata import version

from wordfreq import get_frequency_dict, zipf_frequency

from consentpack.readability.common import LOWEST, TABLE
from consentpack.readability.grouped import grouped_text

_TRADE_NAMES = """
    017ee64675 1439df9671 1636de4cf0 303d61ac65 33930f2ae3 450d76dfa9
    534064cfa2 535f896dea 5829175f49 60cea23d52 8828b4e10c 8947dbf35e
    8b7c5d8d50 8cd51f6265 8eb51d8660 9156dd2db0 b546667509 bd34b533ee
    c4cf4da9f7 c8be7a08b8 ca85352c89 d5273ab906 dc10e452bd f179fe0f53
    f39922b87b f934a23474 fdfa5f8b9a
"""
"""Medicines by their sellers' names, which nothing of this project holds: the beginnings of their SHA-256."""


def _is_trade_name(word: str) -> bool:
    return sha256(word.encode()).hexdigest()[:10] in _TRADE_NAMES.split()


ABOUT = f"""\
# How common English words are: their Zipf values, from the large list of wordfreq {version("wordfreq")}.
# Changed from it: only words of the letters a to z and the apostrophe, of a Zipf value of {LOWEST} or more;
# without trade names of medicines.
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
    kept = (word for word in words if word.replace("'", "").isalpha() and not _is_trade_name(word))
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
