"""Engineering: one module a phenomenon, arrays in SI units in and out.

Room: ``engineering``. Imports no other room; a formula's units, range and source stand in its docstring.
"""
