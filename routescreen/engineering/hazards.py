"""Register of hazards: rules that say for each drive or shaft what may go wrong, who signs, what to do.

Room: ``engineering``. The rules are data: conditions on named plain quantities. A quantity that is missing
or NaN makes a rule not evaluated, unless the others decide it already; never "does not apply".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

Relation = Literal["above", "at least", "below", "at most", "holds"]


@dataclass(frozen=True, slots=True)
class Condition:
    """One comparison of a quantity, or a yes-or-no quantity that holds.

    Attributes
    ----------
    quantity : str
        Its name, ending in its unit, or starting with ``is_`` or ``has_``.
    relation : str
        "above", "at least", "below", "at most", or "holds".
    limit : float
        In the quantity's unit; unused for "holds".
    """

    quantity: str
    relation: Relation
    limit: float = 0.0


@dataclass(frozen=True, slots=True)
class HazardRule:
    """A hazard, when it applies, who must sign, what to do.

    Attributes
    ----------
    hazard : str
        Its short name.
    objects : str
        "drive", "shaft", "both" of them, or "open_cut".
    all_of, any_of : tuple of Condition
        It applies where all of the first hold and, if there are any, at least one of the second.
    who_signs, what_to_do : str
    """

    hazard: str
    objects: Literal["drive", "shaft", "both", "open_cut"]
    who_signs: str
    what_to_do: str
    all_of: tuple[Condition, ...] = ()
    any_of: tuple[Condition, ...] = ()


def condition_holds(condition: Condition, quantities: Mapping[str, ArrayLike]) -> Array:
    """Evaluate a condition: 1 holds, 0 does not, NaN not known.

    Parameters
    ----------
    condition : Condition
    quantities : mapping of str to array_like
        Numbers or booleans, of one shape or broadcasting.
    """
    if condition.quantity not in quantities:
        return np.asarray(np.nan)
    value = np.asarray(quantities[condition.quantity], dtype=np.float64)
    found = {
        "above": value > condition.limit,
        "at least": value >= condition.limit,
        "below": value < condition.limit,
        "at most": value <= condition.limit,
        "holds": value != 0.0,
    }[condition.relation]
    return np.where(np.isnan(value), np.nan, found.astype(np.float64))


def rule_applies(rule: HazardRule, quantities: Mapping[str, ArrayLike]) -> Array:
    """Evaluate a rule: 1 applies, 0 does not, NaN not evaluated.

    Parameters
    ----------
    rule : HazardRule
    quantities : mapping of str to array_like
        See `condition_holds`.

    Notes
    -----
    Three values: a false part makes "all" false and a true part makes "any" true, whatever isn't known.
    """
    every = _stack([condition_holds(part, quantities) for part in rule.all_of], quantities)
    # fmin and fmax leave NaN out, so a decided part is seen through parts that aren't known.
    applies = np.where(np.fmin.reduce(every, axis=0) == 0.0, 0.0, np.sum(every, axis=0) * 0.0 + 1.0)
    if not rule.any_of:
        return np.asarray(applies)
    some = _stack([condition_holds(part, quantities) for part in rule.any_of], quantities)
    either = np.where(np.fmax.reduce(some, axis=0) == 1.0, 1.0, np.sum(some, axis=0) * 0.0)
    return np.where((applies == 0.0) | (either == 0.0), 0.0, applies * either)


def _stack(parts: Sequence[Array], quantities: Mapping[str, ArrayLike]) -> Array:
    shape = np.broadcast_shapes(*(np.shape(value) for value in quantities.values()))
    return np.stack([np.broadcast_to(part, shape) for part in parts] or [np.ones(shape)])


@dataclass(frozen=True, slots=True)
class HazardRegister:
    """Which rules apply to which drives or shafts.

    Attributes
    ----------
    rules : tuple of HazardRule, n_rules
        Those for the kind of object, in the order given.
    applies : ndarray of float64, shape (n_rules, ...)
        1 applies, 0 does not, NaN not evaluated.
    """

    rules: tuple[HazardRule, ...]
    applies: Array

    @property
    def is_open(self) -> NDArray[np.bool_]:
        """Whether a row must be signed: it applies or could not be evaluated."""
        return np.asarray(self.applies != 0.0)


def hazard_register(
    rules: Sequence[HazardRule],
    objects: Literal["drive", "shaft", "open_cut"],
    quantities: Mapping[str, ArrayLike],
) -> HazardRegister:
    """Evaluate all rules for drives, for shafts, or for open cuts.

    Parameters
    ----------
    rules : sequence of HazardRule
    objects : str
        "drive", "shaft" or "open_cut".
    quantities : mapping of str to array_like of shape (...)
        See `condition_holds`; the names that the rules use are listed by `quantities_needed`.
    """
    named = (objects,) if objects == "open_cut" else (objects, "both")
    chosen = tuple(rule for rule in rules if rule.objects in named)
    shape = np.broadcast_shapes(*(np.shape(value) for value in quantities.values()))
    rows = [np.broadcast_to(rule_applies(rule, quantities), shape) for rule in chosen]
    return HazardRegister(chosen, np.stack(rows) if rows else np.empty((0, *shape)))


def quantities_needed(rules: Sequence[HazardRule]) -> tuple[str, ...]:
    """Names of the quantities that rules compare, sorted."""
    return tuple(sorted({part.quantity for rule in rules for part in (*rule.all_of, *rule.any_of)}))
