"""Independent ways to the optimum, for proofs: plain Python that shares no code with the search.

They read the same arrays (`routescreen.search.arrays`, pure data) and state every rule again from
its definition: no labels, thresholds, bounds, convex hulls by stack or compiled code.
"""
