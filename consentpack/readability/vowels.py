"""Syllables by vowel nuclei, for languages whose spelling shows them.

Hyphenation points, which textstat uses outside English, are places where a printer may break a word:
Spanish 'agua' gets 1 syllable, 'anestesia' 3. Nuclei give 2 and 4.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_SPANISH = re.compile(
    # a stressed í or ú never joins its neighbour; otherwise i, u and a final y glide onto it
    r"[íú]|[iuüy]?[aeoáéó](?:[iuü](?![aeoáéóíú])|y(?![aeiouáéíóú]))?|[iuü]+"
)
_PATTERNS: dict[str, re.Pattern[str]] = {
    "es": _SPANISH,
    "pt": re.compile(r"[íúáéóâêô]|[iu]?[aeoáéóâêôãõ](?:[iu](?![aeo])|o(?=\b))?|[iu]+"),
    "it": re.compile(r"[ìùíú]|[iu]?[aeoàèéòó](?:[iu](?![aeo]))?|[iu]+"),
    "fr": re.compile(r"[aàâæeéèêëiîïoôœuùûüyÿ]+"),
    "de": re.compile(r"ei|ai|au|eu|äu|ie|aa|ee|oo|[aeiouyäöü]"),
    "nl": re.compile(r"aai|oei|ooi|eeuw|ieuw|aa|ee|oo|uu|ie|oe|eu|ui|ei|ij|ou|au|[aeiouyëïé]"),
    "pl": re.compile(r"[aeiouyóąę]"),
    "sv": re.compile(r"[aeiouyåäö]"),
    "da": re.compile(r"[aeiouyåæø]+"),
    "nb": re.compile(r"[aeiouyåæø]+"),
}
_SILENT_FRENCH = re.compile(r"(?<=[^aeiouyàâéèêëîïôùûü])e(?:s|nt)?$")
_POLISH_SOFT = re.compile(r"i(?=[aeouóąęy])")
_FRENCH_APART = re.compile(r"éo|éa|oé|aï|oï|aë|oë")
_OPEN_PORTUGUESE = re.compile(r"i[ao]s?$")
_ACCENT = re.compile(r"[áéíóúâêô]")


@lru_cache(8192)
def nuclei(word: str, language: str) -> int:
    """Syllables of one word, at least 1. Figures count 1."""
    low = unicodedata.normalize("NFC", word.lower())
    if language == "pl":
        low = _POLISH_SOFT.sub("", low)  # an i before a vowel only softens the consonant
    if language == "fr" and len(low) > 3:
        low = _SILENT_FRENCH.sub("", low)
    pattern = _PATTERNS.get(language)
    found = len(pattern.findall(low)) if pattern else 0
    if language == "pt" and _OPEN_PORTUGUESE.search(low) and not _ACCENT.search(low):
        found += 1  # 'dia', but not 'história'
    if language == "fr":
        found += len(_FRENCH_APART.findall(low))
    return max(1, found)
