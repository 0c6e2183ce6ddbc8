"""Formulas of mesh, rollers and corners on plain numbers, each with its source.

Lengths are millimetres or micrometres, tensions N/cm, as the names say. Nothing here knows of a
session. ``mesh``, ``takeup`` and ``corner`` are used after every entry and need only ``math``.

Tags in the docstrings: "simulated" is fitted on a simulated bench, never on real mesh; "from
memory" has yet to be confirmed. The mesh maker's data sheet wins over both.
"""
