"""Answers in plain words about finished plans and inputs: what stands at a place, what two plans differ in.

Room: ``answers``. Pure: tables in, sentences and tables out; reckons nothing of engineering, opens no file.
"""

from __future__ import annotations
