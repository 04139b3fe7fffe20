"""Screening of underground high-voltage DC cable corridors: where to trench, where to go trenchless."""

__version__ = "0.1.0"
