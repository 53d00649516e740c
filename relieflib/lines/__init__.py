"""Inlet line, outlet line, pipe flow and discharge reaction."""
