"""Translations: what there is to translate, and how what has been translated stands."""
