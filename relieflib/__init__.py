"""Sizing and checking of pressure safety valves: equations, loads, checks and slips.

SI inside: Pa absolute unless a name ends in `_gauge`, K, kg/s, m2. A teaching and checking aid:
sizing decisions belong to a competent, licensed engineer under the local code.
"""

__version__ = "0.3.0"
