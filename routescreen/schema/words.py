"""What the results say in fixed words: cautions, what the bill leaves out, and the values of columns.

Room: ``schema``. Pure data.
"""

from __future__ import annotations

NOT_IN_BILL = (
    "owner's engineering, permits, supervision and insurance (GE03), running of the sites by the month (GE02)"
)
"""What the total of the bill leaves out and is reckoned beside it, as it is printed and recorded."""

NEVER_PRICED = (
    "converters, terminations and earthing, fibre in drives, value-added tax, finance, escalation, claims "
    "beyond PR01, PR02 and DR19"
)
"""What no version prices, as it is printed and recorded."""

CAUTION = (
    "A screening aid, not a design. Ground is assumed until investigated; buried services are where records "
    "say until exposed. Shafts, face support, lifting, pressure and high voltage kill. Every result is to be "
    "checked and signed by licensed engineers under local codes, owners' rules and permits; default rates "
    "are placeholders."
)

STATUSES = ("pass", "amber", "fail", "not_evaluated")
CONFIDENCES = ("assumed", "record", "surveyed")
CONSTRUCTIONS = ("open_cut", "drive")
PARTS = ("works", "provisional", "allowance")
SHAFT_FILLS = ("spoil", "conducting")

SHAFT_ROLES = (
    "launch",
    "reception",
    "launch+launch",
    "launch+reception",
    "reception+launch",
    "reception+reception",
)
