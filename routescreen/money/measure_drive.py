"""Quantities of drives: all items of one metre of true length, and those of a drive as a whole.

Room: ``money``. May import ``assumptions``, ``engineering``, ``drives``.

A drive as a whole is measured from parts, each linear in one count, so that a search can price the
parts once and add them up: set-up, pieces of pipe, boreholes, layout strip.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.engineering.pipe import annulus_m2, circle_m2
from routescreen.money.quantities import (
    Quantities,
    add_cables,
    add_pipes,
    add_site_soil,
    add_surplus,
    add_temporary_land,
    empty_quantities,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from routescreen.assumptions import Assumptions, Method

_ROUNDING = 1e-9  # a length of exactly ten pieces must not become eleven by rounding


def drive_per_m(
    method: str, soil_class: NDArray[np.integer], cover_class: NDArray[np.integer], a: Assumptions
) -> NDArray[np.float64]:
    """Measure one metre of true length of a drive, all bores and cables together.

    Parameters
    ----------
    method : str
        Name of the method.
    soil_class : ndarray of int, shape (n,)
        Soil that the bores lie in.
    cover_class : ndarray of int, shape (n,)
        Ground cover above, for the easement.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Quantities per metre of true length.
    """
    q = empty_quantities(len(soil_class), a)
    way, n_bores = a.methods[method], a.n_bores(method)
    soils = list(a.soil)
    cost = np.array([_cost_factor(way, name) for name in soils])[soil_class]
    events = np.array([a.soil[name].events_per_km for name in soils])[soil_class]
    q.add(way.bore_length_item, n_bores * cost * _diameter_factor(way))
    q.add_each(way.further_length_items, n_bores)
    q.add("PR01", n_bores * events / 1000.0)
    _add_spoil(q, way, n_bores, soil_class, a)
    if way.has_annulus_grout:
        grout = annulus_m2(way.bore_diameter_m, way.pipe_outer_diameter_m)
        q.add("DR15", n_bores * grout * (1.0 + a.grout.loss_frac.expected))
    add_pipes(q, way.pipe_outer_diameter_m, a.link.n_cables, a)
    if way.bores_per == "link":
        q.add("TR90", a.link.n_cables)  # laid in the tunnel; else the pull-in pays for it
    add_cables(q, a)
    q.add_by_cover("LA11", cover_class, a.protective_strip_m * a.land.drive_easement_factor)
    return q.values


def drive_fixed(
    method: str,
    true_length_m: ArrayLike,
    launch_depth_m: ArrayLike,
    reception_depth_m: ArrayLike,
    reception_cover_class: NDArray[np.integer],
    a: Assumptions,
    *,
    n_pieces: ArrayLike = 1,
) -> NDArray[np.float64]:
    """Measure what a drive needs as a whole.

    Parameters
    ----------
    method : str
        Name of the method.
    true_length_m : array_like of shape (n,)
        Length of the bore [m].
    launch_depth_m, reception_depth_m : array_like of shape (n,)
        Shaft depths that this drive asks for [m].
    reception_cover_class : ndarray of int, shape (n,)
        Ground cover of the layout strip, taken as that at the reception.
    a : Assumptions
    n_pieces : array_like of shape (n,)
        Pieces in which the pipe string is laid out.

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Quantities of each drive: set-up of every bore, welds, boreholes between the shafts, layout
        strip.
    """
    length = np.atleast_1d(np.asarray(true_length_m, dtype=np.float64))
    pieces = np.asarray(n_pieces)
    deeper = np.maximum(launch_depth_m, reception_depth_m) + a.shaft.borehole_below_shaft_m
    terms = (
        (np.ones_like(length), drive_set_up(method, a)),
        (n_pipe_pieces(length, a), drive_per_pipe_piece(method, a)),
        (n_boreholes_between(length, a) * deeper, drive_per_borehole_m(a)),
        (np.broadcast_to(pieces - 1.0, length.shape), drive_per_tie_in(method, a)),
        (length / pieces, layout_per_m(method, reception_cover_class, a)),
        (np.ones_like(length), layout_working(method, reception_cover_class, a)),
    )
    return np.asarray(sum(count[:, np.newaxis] * vector for count, vector in terms))


def drive_months_per_m(method: str, a: Assumptions) -> NDArray[np.float64]:
    """Months that a metre of drive takes in each soil, all bores after one another.

    Parameters
    ----------
    method : str
        Name of the method.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_soils,)
        Bores / expected metres a day / days of driving a month; 0 where the method does not drive [month/m].
    """
    rates = [_metres_a_day(a.methods[method], name) for name in a.soil]
    days = [0.0 if rate is None else a.n_bores(method) / rate for rate in rates]
    return np.array(days) * _factor_of_shifts(a) / drive_days_per_month(a)


def drive_months(method: str, a: Assumptions) -> float:
    """Months that the bores of a drive take besides driving: set-up, recovery, preparing the pull-in [month].

    The erection of the rig and the move to the launch come before the shaft is opened for them.
    """
    way = a.methods[method]
    days = way.setup_days_per_bore.expected + way.recovery_days_per_bore.expected
    days += a.programme.pull_in_prepare_days.expected * way.has_layout
    return a.n_bores(method) * days / drive_days_per_month(a)


def drive_days_per_month(a: Assumptions) -> float:
    """Return the expected days of driving in a month, holidays and standstill left out."""
    return a.programme.drive_days_per_year.expected / 12.0


def drive_pumping(
    method: str,
    soil_class: NDArray[np.integer],
    length_m: NDArray[np.float64],
    n_wet_ends: int,
    a: Assumptions,
) -> NDArray[np.float64]:
    """Measure the pumping at the shafts of a drive for as long as it takes.

    Parameters
    ----------
    method : str
        Name of the method.
    soil_class : ndarray of int, shape (n,)
        Soil that the bores lie in, piece by piece.
    length_m : ndarray of shape (n,)
        True length of the pieces [m].
    n_wet_ends : int
        Ends that lie below the groundwater as given, as deep as this drive asks for.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n_items,)
    """
    q = empty_quantities(1, a)
    months = drive_months(method, a) + float(length_m @ drive_months_per_m(method, a)[soil_class])
    q.add("SH24", n_wet_ends * months)
    return q.row()


def _metres_a_day(way: Method, soil: str) -> float | None:
    drivability = way.drivability.get(soil)
    if drivability is None or drivability.rate_m_per_day is None:
        return None
    return drivability.rate_m_per_day.expected


def _factor_of_shifts(a: Assumptions) -> float:
    """Return the share of its days that a drive takes by the shifts that are worked."""
    return 1.0 if a.programme.shifts_per_day < 2 else 1.0 / a.programme.second_shift_factor


def n_pipe_pieces(true_length_m: ArrayLike, a: Assumptions) -> NDArray[np.float64]:
    """Pieces of pipe in one string: length / piece, rounded up."""
    return np.ceil(np.asarray(true_length_m, dtype=np.float64) / a.pipe.piece_length_m - _ROUNDING)


def n_boreholes_between(true_length_m: ArrayLike, a: Assumptions) -> NDArray[np.float64]:
    """Boreholes along a drive besides those at its shafts: length / spacing, rounded up, less 1."""
    length = np.asarray(true_length_m, dtype=np.float64)
    return np.maximum(np.ceil(length / a.shaft.borehole_spacing_m - _ROUNDING) - 1.0, 0.0)


def drive_set_up(method: str, a: Assumptions) -> NDArray[np.float64]:
    """Measure setting up and clearing away for all bores of a drive, shape (n_items,)."""
    q = empty_quantities(1, a)
    way, n_bores = a.methods[method], a.n_bores(method)
    q.add_each(way.first_bore_items, 1.0)
    q.add_each(way.further_bore_items, n_bores - 1)
    return q.row()


def drive_per_pipe_piece(method: str, a: Assumptions) -> NDArray[np.float64]:
    """Measure one piece of pipe more in every string: its weld, shape (n_items,)."""
    q = empty_quantities(1, a)
    factor = a.pipe.size(a.methods[method].pipe_outer_diameter_m).weld_factor
    q.add("PI11", a.link.n_cables * factor)
    return q.row()


def drive_per_tie_in(method: str, a: Assumptions) -> NDArray[np.float64]:
    """Measure one tie-in weld more in every string, shape (n_items,)."""
    q = empty_quantities(1, a)
    if a.methods[method].has_layout:
        q.add("PI12", a.n_bores(method))
    return q.row()


def drive_per_borehole_m(a: Assumptions) -> NDArray[np.float64]:
    """Measure one metre of borehole, shape (n_items,)."""
    q = empty_quantities(1, a)
    q.add("GI10", 1.0)
    return q.row()


def layout_per_m(method: str, cover_class: NDArray[np.integer], a: Assumptions) -> NDArray[np.float64]:
    """Measure one metre of layout strip for the strings of every bore.

    Parameters
    ----------
    method : str
    cover_class : ndarray of int, shape (n,)
        Ground cover of the strip.
    a : Assumptions

    Returns
    -------
    ndarray of float64, shape (n, n_items)
        Zeros for a method without a layout strip.
    """
    return _layout(method, 1.0, cover_class, a)


def layout_working(method: str, cover_class: NDArray[np.integer], a: Assumptions) -> NDArray[np.float64]:
    """Measure the working length that each layout strip needs besides its string; see `layout_per_m`."""
    return _layout(method, a.methods[method].layout_working_length_m, cover_class, a)


def _layout(
    method: str, length_m: float, cover_class: NDArray[np.integer], a: Assumptions
) -> NDArray[np.float64]:
    q = empty_quantities(len(cover_class), a)
    way = a.methods[method]
    if way.has_layout:
        area = way.layout_strip_width_m * length_m * a.n_bores(method)
        q.add("PI13", area)
        add_temporary_land(q, cover_class, area, a)
        add_site_soil(q, cover_class, area, a)
    return q.values


def _add_spoil(
    q: Quantities, way: Method, n_bores: int, soil_class: NDArray[np.integer], a: Assumptions
) -> None:
    """Spoil of the bores: treated as slurry or mud, or hauled as it is when it is bored dry."""
    volume = n_bores * circle_m2(way.bore_diameter_m) * way.spoil_factor
    if way.spoil_item is not None:
        q.add(way.spoil_item, volume)
    else:
        add_surplus(q, soil_class, np.full(len(soil_class), volume), a)


def _cost_factor(way: Method, soil: str) -> float:
    """Cost factor of the soil; 1 where the method can't drive it, since such drives are never kept."""
    drivability = way.drivability.get(soil)
    return 1.0 if drivability is None else drivability.cost_factor


def _diameter_factor(way: Method) -> float:
    diameters = {
        "bore": way.bore_diameter_m,
        "pipe": way.pipe_outer_diameter_m,
        "driven": way.driven_outer_diameter_m,
    }
    ratio = diameters[way.bore_length_item_by] / way.bore_length_item_diameter_m
    return float(ratio**way.bore_length_item_exponent)
