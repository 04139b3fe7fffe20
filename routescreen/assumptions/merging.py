"""Laying a project's assumptions over the defaults, table by table.

Room: assumptions. Pure: plain tables in, a new plain table out.
"""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Any

from routescreen.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

CATALOGUES = ("soil", "methods", "treatments", "cover")
"""Groups of named entries in which a new entry may start from a known one by ``like``, soils first."""

LIKE = "like"

Table = dict[str, Any]


def merge(base: Table, over: Table) -> Table:
    """Lay one table over another: tables merge key by key, everything else is replaced whole.

    Parameters
    ----------
    base, over : dict
        Neither is changed; keys of `base` keep their order, new keys follow.

    Returns
    -------
    dict
    """
    merged = deepcopy(base)
    for key, value in over.items():
        known = merged.get(key)
        if isinstance(known, dict) and isinstance(value, dict):
            merged[key] = merge(known, value)
        else:
            merged[key] = deepcopy(value)
    return merged


def merge_project(defaults: Table, project: Table) -> tuple[Table, list[Problem]]:
    """Lay a project's table over the defaults and resolve every ``like``.

    Parameters
    ----------
    defaults : dict
    project : dict

    Returns
    -------
    merged : dict
        Without ``like``. An entry starts from the one it is like as the project has it, wherever that
        stands; a new soil takes the other's drivability too.
    problems : list of Problem
        Entries that are like something unknown; they start from the first known one, so that their own
        keys are still checked.
    """
    alike = {(group, name): entry for group, name, entry in _entries(project) if LIKE in entry}
    merged = merge(defaults, _without(project, alike))
    problems = []
    for (group, name), entry in alike.items():
        if (model := entry[LIKE]) not in list(merged[group]):
            problems.append(_unknown_model(group, name, model, merged[group]))
            model = next(iter(merged[group]))
        _start_from(merged, group, name, model)
        own = {key: value for key, value in entry.items() if key != LIKE}
        merged[group][name] = merge(merged[group][name], own)
    return merged, problems


def _entries(project: Table) -> Iterator[tuple[str, str, Table]]:
    for group in CATALOGUES:
        entries = project.get(group)
        for name, entry in entries.items() if isinstance(entries, dict) else ():
            if isinstance(entry, dict):
                yield group, name, entry


def _without(project: Table, entries: Iterable[tuple[str, str]]) -> Table:
    rest = deepcopy(project)
    for group, name in entries:
        del rest[group][name]
    return rest


def _unknown_model(group: str, name: str, model: Any, known: Table) -> Problem:
    return Problem(
        problem=f"There is nothing of that name to be like; allowed: {', '.join(known)}.",
        remedy="Name an entry that stands in the defaults or further up in the file.",
        column=f"{group}.{name}.{LIKE}",
        value=f"'{model}'",
    )


def _start_from(merged: Table, group: str, name: str, model: str) -> None:
    merged[group][name] = deepcopy(merged[group][model])
    if group == "soil":
        for method in merged["methods"].values():
            soils = method["drivability"]
            soils[name] = merge(soils[model], soils.get(name, {}))
