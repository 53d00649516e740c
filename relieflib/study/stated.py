"""A load that somebody states: its flow is known already, only the area is asked for."""

from relieflib.errors import not_negative, result
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = "30"
PUBLISHED = {}


def relief_load(mass_flow, stream, fire=False, working=()):
    """A load as stated.

    Parameters: mass_flow [kg/s]; stream at relieving conditions; fire, True for an exterior fire;
    working, steps that led to the flow. Returns `ReliefLoad`. Raises InputError for a negative
    flow. Source: who states it.
    >>> from relieflib.nozzle.gas import Gas
    >>> relief_load(2.0, Gas(20e5, 300.0, molar_mass=28.0, k=1.4)).mass_flow
    2.0
    """
    flow = result(not_negative(mass_flow=mass_flow))
    stated = step("mass_flow", flow, source="as stated")
    return ReliefLoad("stated", flow, stream, working=Working([*working, stated]), fire=fire)
