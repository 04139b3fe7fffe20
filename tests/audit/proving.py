"""Proofs of a plan, worked out once however many tests of a process ask for them."""

from __future__ import annotations

import pickle
from hashlib import sha256
from typing import TYPE_CHECKING

from routescreen.audit import proofs

if TYPE_CHECKING:
    from routescreen.assumptions import Assumptions
    from routescreen.plan import Plan
    from routescreen.project import CorridorInput

_KEPT: dict[bytes, bytes] = {}


def prove_plan(plan: Plan, inp: CorridorInput, assumptions: Assumptions, **more: object) -> proofs.Proofs:
    """Prove a plan, or hand out what was found on the same plan, input and assumptions.

    The digest is of all that goes in, so whatever differs in anything is proved anew. Each caller has a
    copy of its own and may write on it. Not for tests that swap a part of the program.
    """
    asked = sha256(pickle.dumps((plan, inp, assumptions, more))).digest()
    if asked not in _KEPT:
        _KEPT[asked] = pickle.dumps(proofs.prove_plan(plan, inp, assumptions, **more))  # type: ignore[arg-type]
    found = pickle.loads(_KEPT[asked])
    assert isinstance(found, proofs.Proofs)
    return found
