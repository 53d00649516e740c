"""Will the valve work where it stands: opening, inlet and outlet line in one verdict."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from relieflib.errors import result
from relieflib.lines import inlet as inlet_line, outlet as outlet_line
from relieflib.lines.inlet import LOSS_LIMIT, InletCheck
from relieflib.lines.line import NO_LIMIT, NOT_KNOWN, OVER, WITHIN, flag_where, verdict_of
from relieflib.lines.outlet import OutletCheck
from relieflib.valve_questions import opening_pressure, opens_in_time
from relieflib.working import Working

NOT_TOGETHER = ("the outlet line makes more back pressure than the sizing counts with, and the "
                "rated flow falls with it: size both together with outlet.solve")  # fmt: skip
_WORST_FIRST = (OVER, NOT_KNOWN, WITHIN, NO_LIMIT)
LATE = "the valve opens later by the variable back pressure"


@dataclass(frozen=True)
class ValveCheck:
    """Verdict on a valve between its two lines: inlet, an `InletCheck`; outlet, an `OutletCheck`.

    flags, words of both, each led by the line it belongs to; opening, the verdict on whether it
    opens in time against the variable back pressure, 'not known' without MAWP.
    """

    inlet: InletCheck
    outlet: OutletCheck
    flags: tuple
    opening: str = WITHIN

    @property
    def verdict(self):
        """The worst verdict of opening, inlet and outlet, array for arrays."""
        verdicts = (self.inlet.verdict, self.outlet.verdict, self.opening)
        words = np.broadcast_arrays(*(np.asarray(v, object) for v in verdicts))
        rank = [np.select([w == v for v in _WORST_FIRST], range(4)) for w in words]
        worst = np.array(_WORST_FIRST, dtype=object)[np.min(rank, axis=0)]
        return result(worst)

    @property
    def passes(self):
        """True where both lines keep their limit, or have none, and the valve opens in time."""
        opens = np.asarray(self.opening, dtype=object) == WITHIN
        return result(np.asarray(self.inlet.passes) & np.asarray(self.outlet.passes) & opens)

    @cached_property
    def capacity(self):
        """Flow that is left when both lines have taken theirs [kg/s]; beyond a limit an estimate.

        The smaller of what the valve passes at the pressure left at its inlet and what its outlet
        line lets it be credited with. Source: as `InletCheck.capacity` and `OutletCheck.capacity`;
        no standard gives a flow beyond a limit.
        """
        return result(np.minimum(self.inlet.capacity, self.outlet.capacity))

    @property
    def sufficient(self):
        """True where the capacity that is left covers the load; says nothing of the limits."""
        load = np.asarray(self.inlet.sizing.load.mass_flow)
        return result(np.asarray(self.capacity) >= load * (1 - 1e-9))

    @property
    def works(self):
        """True where both limits are kept and the capacity that is left covers the load."""
        return result(np.asarray(self.passes) & np.asarray(self.sufficient))

    @property
    def working(self):
        """The steps of the inlet line, then those of the outlet line."""
        return Working([*self.inlet.working, *self.outlet.working])


def check(sizing, inlet, outlet, *, designation=None, header_pressure=None, superimposed_gauge=0.0,
          variable_superimposed_gauge=0.0, mawp_gauge=None, role="first", modulating=False,
          remote_sensing=False, viscosity=None,
          loss_limit=LOSS_LIMIT, flow="adiabatic", line_Z=1.0, flange_class=150):  # fmt: skip
    """Will the valve work where it stands: both lines checked, in one verdict.

    Parameters: sizing, with a set pressure in its device; inlet and outlet, each a `Line`;
    designation of the valve, None for the usual one of the letter; modulating, remote_sensing,
    viscosity [Pa s] and loss_limit [-] as `inlet.check`; header_pressure [Pa], superimposed_gauge,
    variable_superimposed_gauge [Pa gauge], flow, line_Z [-] and flange_class as `outlet.check`;
    mawp_gauge [Pa gauge], without which a valve that opens later is not known to open in time; role
    of the valve as `set_pressure.highest_set`.
    Returns `ValveCheck`. Raises InputError as both checks.
    Validity: as both; the rated flow is that of the sizing's back pressure, and a flag says where
    the line makes more and it counts. Source: API 520-II (2020), 7.3; API 520-I (2020), 5.3.
    >>> from relieflib.devices import Device
    >>> from relieflib.lines.line import Line, Part
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> load = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                      k=1.11, Z=0.90))
    >>> s = size(load, Device(set_pressure_gauge=517e3))
    >>> short = Line([Part("other", 0.10226, K=0.4)])
    >>> for bore in (0.15405, 0.20272):
    ...     c = check(s, short, Line([Part("other", bore, K=2.0)]))
    ...     print(c.inlet.verdict, c.outlet.verdict, c.verdict, c.works)
    within limit over limit over limit False
    within limit within limit within limit True
    """
    into = inlet_line.check(sizing, inlet, designation=designation, modulating=modulating,
                            remote_sensing=remote_sensing, viscosity=viscosity,
                            loss_limit=loss_limit)  # fmt: skip
    out = outlet_line.check(
        sizing, outlet, header_pressure=header_pressure, designation=designation,
            superimposed_gauge=superimposed_gauge,
        variable_superimposed_gauge=variable_superimposed_gauge, viscosity=viscosity, flow=flow,
            line_Z=line_Z, flange_class=flange_class,
    )  # fmt: skip
    flags = [f"inlet: {words}" for words in into.flags]
    flags += [f"outlet: {words}" for words in (*out.flags, *_together(sizing, out))]
    opening = _opening(sizing.device, variable_superimposed_gauge, mawp_gauge, role)
    words = np.asarray(opening, dtype=object)
    flags += flag_where(words == OVER, f"opening: {LATE}, above the highest set pressure")
    flags += flag_where(words == NOT_KNOWN, f"opening: {LATE}, and MAWP is not given")
    return ValveCheck(into, out, tuple(flags), opening)


def _opening(device, variable, mawp_gauge, role):
    """Verdict on the opening; a valve that opens at set is judged where its set pressure is."""
    opens = opening_pressure(device.kind, device._set(), np.asarray(variable, dtype=float))
    if mawp_gauge is None:
        return verdict_of(np.where(opens > device._set(), np.nan, 0.0), 0.0)
    answer = opens_in_time(device.kind, device._set(), np.asarray(variable), mawp_gauge, role)
    return verdict_of(answer.value, answer.limit)


def _together(sizing, out):
    """Flag where the flow depends on a back pressure that the sizing does not hold."""
    stream, made = sizing.load.stream, np.asarray(out.outlet_pressure)
    counts = made > np.asarray(sizing.back_pressure) * (1 + 1e-3)
    if sizing.device.kind != "balanced" and stream.phase != "liquid":
        # choked flow does not see it; no flow at all above the relieving pressure
        back = result(np.fmin(made, stream.pressure))
        counts = counts & ~np.asarray(stream.choked(back), dtype=bool)
    return flag_where(counts, NOT_TOGETHER)
