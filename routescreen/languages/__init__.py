"""What is said in each language: one file a language, and sentences read out of the results' English.

Room: at the bottom, beside ``schema``. Opens nothing but the package's own data; reckons nothing.
"""

from __future__ import annotations

from routescreen.languages.speech import Speech, speech_of
from routescreen.languages.texts import ENGLISH, languages, texts_of

__all__ = ["ENGLISH", "Speech", "languages", "speech_of", "texts_of"]
