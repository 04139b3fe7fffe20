"""Audit: the finished plan measured again from its geometry alone, every limit checked.

Room: ``audit``. May import ``plan``, ``project``, ``errors``, ``assumptions``, ``engineering``,
``drives.methods`` and ``money``. Shares no code with ``corridor`` and ``search``: exact intersections
and profiles of its own, so that what they get wrong is found here.
"""

from routescreen.audit.land_use import Sites
from routescreen.audit.proofs import Proofs, count_warnings, prove_plan
from routescreen.audit.report import AuditReport, Breach
from routescreen.audit.run import audit_plan

__all__ = ["AuditReport", "Breach", "Proofs", "Sites", "audit_plan", "count_warnings", "prove_plan"]
