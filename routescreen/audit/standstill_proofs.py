"""Whether the mud left in the bore holds the face while the machine stands.

Room: ``audit``. The formulae are those of ``engineering.face_rest``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from routescreen.audit.report import Limit

if TYPE_CHECKING:
    from routescreen.audit.drive_profile import DriveProfile
    from routescreen.audit.pressure_proofs import Pressures
    from routescreen.audit.report import Ledger
    from routescreen.audit.scene import Scene

SOURCE = "assumptions, [checks.pressure], [soil]; Horn 1961, Terzaghi 1943, DAUB 2016, from memory"


def prove_standstill(
    scene: Scene, ledger: Ledger, index: int, profile: DriveProfile, found: Pressures
) -> None:
    """Compare the mud at rest with the least pressure that holds the face, where it is worst.

    Parameters
    ----------
    scene : Scene
    ledger : Ledger
        Takes a finding for a slurry face, amber where the column alone does not hold it.
    index : int
        Of the drive.
    profile : DriveProfile
    found : Pressures
    """
    a, drive = scene.assumptions, scene.plan.drives[index]
    if a.methods[drive.method].face != "slurry":
        return
    limit, element = Limit("pressure_standstill", "kPa", SOURCE, tolerance=1e-9), scene.drive_id(index)
    to_axis_kPa = a.checks.slurry.unit_weight_kN_per_m3.expected * scene.lines[index].radius_m
    mud_kPa = found.pressure_kPa[1] + to_axis_kPa
    lacks_kPa = found.rest_kPa - mud_kPa
    unknown = np.flatnonzero(np.isnan(lacks_kPa))
    if len(unknown):
        why = "ground, soil or water isn't known all along"
        ledger.not_evaluated(element, limit, profile.place(int(unknown[0]), index), why)
        return
    at = int(np.argmax(lacks_kPa))
    needed, has = float(found.rest_kPa[at]), float(mud_kPa[at])
    reason = (
        f"while the machine stands the face asks for {needed:.0f} kPa at its axis, the ground arching over "
        f"it; the mud column open at the launch gives {has:.0f} kPa"
    )
    place = profile.place(at, index)
    if needed <= has:
        ledger.finding(element, limit, needed, has, place, reason)
        return
    share = float(np.mean(lacks_kPa > 0.0))
    reason += (
        f", too little over {share * scene.lines[index].true_length_m:.0f} m of the drive: before it stands "
        f"there its valves are shut and {needed - has:.0f} kPa more are held by the pump or by air"
    )
    ledger.amber(element, limit, needed, has, place, reason)
