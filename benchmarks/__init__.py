"""Benchmarks and proofs of routescreen; run with ``python -m benchmarks``."""
