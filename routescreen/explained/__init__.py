"""What speaks for the plan: other ways, how far shafts may move, what else could be built.

Room: beside ``screen``. Brings the search's findings to the finished plan's elements.
"""

from routescreen.explained.all import Explanations, Finished, explain, explanations_asked
from routescreen.explained.alternatives import Measure
from routescreen.explained.ways import least_extra_eur

__all__ = ["Explanations", "Finished", "Measure", "explain", "explanations_asked", "least_extra_eur"]
