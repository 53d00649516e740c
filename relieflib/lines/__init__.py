"""Inlet line, outlet line, pipe flow and discharge reaction.

`check` answers for a valve between both of its lines: will it work where it stands.
"""

from relieflib.lines.valve import ValveCheck, check

__all__ = ["ValveCheck", "check"]
