"""Closed outlet: what flows in has nowhere to go but the valve."""

from dataclasses import dataclass

import numpy as np

from relieflib.errors import (
    InputError,
    finite,
    not_negative,
    positive,
    refuse,
    result,
    warn_outside,
)
from relieflib.nozzle.liquid import Liquid
from relieflib.rules import NONE as PRACTICE
from relieflib.sizing import ReliefLoad
from relieflib.units import GRAVITY
from relieflib.working import Working, step

NOTEBOOK = 10
PUBLISHED = {"closed outlet": ("4.4.2", "5.5")}

SOURCE = "API 521 (2020), 4.4.2"
FURTHEST = 1.2  # of rated flow: how far a curve of three numbers is taken


def relief_load(inflow, stream, outflow=0.0, working=()):
    """Load of a vessel whose outlet is closed: all that comes in, less what still leaves.

    Parameters: inflow, the largest sum of sources at RELIEVING pressure [kg/s]; stream, the fluid
    at relieving conditions; outflow [kg/s] through outlets that demonstrably stay open in the
    same event; working, steps that led to the inflow. Arrays broadcast. Returns `ReliefLoad`; no
    load where the outflow covers the inflow. Raises InputError for a negative flow.
    Source: API 521 (2020), 4.4.2 (5th edition 5.5).
    >>> from relieflib.nozzle.gas import Gas
    >>> load = relief_load(12000 / 3600, Gas(12e5, 313.0, molar_mass=18.0, k=1.28),
    ...                    outflow=2000 / 3600)
    >>> round(load.mass_flow * 3600)
    10000
    """
    W_in, W_out = not_negative(inflow=inflow, outflow=outflow)
    flow = result(np.maximum(W_in - W_out, 0.0))
    line = step("mass_flow", flow, "max(W_in - W_out, 0)", SOURCE, inflow=inflow, outflow=outflow)
    return ReliefLoad("closed_outlet", flow, stream, working=Working([*working, line]))


def inflow_at_relieving(normal_flow, normal_pressure, relieving_pressure, *, source_pressure,
                        highest_source_pressure, compressible=True):  # fmt: skip
    """Flow that a fixed resistance lets through from a source once the vessel relieves.

    Parameters: normal_flow [kg/s] while the source stands at source_pressure and the vessel at
    normal_pressure; relieving_pressure of the vessel; highest_source_pressure, what the source
    reaches in the event; all [Pa absolute]; compressible True for gas (difference of squares),
    False for liquid (difference). Arrays broadcast. Returns kg/s; 0 where the source can't reach
    the relieving pressure, and MORE than normal where it rises further than the vessel. Raises
    InputError unless the source normally stands above the vessel, and at its highest not below.
    Validity: turbulent, not choked. Of the LINE alone: what the source itself can give is its own
    curve (`SourceCurve`, `PumpCurve`), and the smaller of the two comes in.
    Source: square-law resistance, common practice, no source.
    >>> round(inflow_at_relieving(3.0, 10e5, 11e5, source_pressure=12e5,
    ...                           highest_source_pressure=14e5), 3)
    3.917
    """
    W = not_negative(normal_flow=normal_flow)
    normal, P1, source, highest = positive(
        normal_pressure=normal_pressure, relieving_pressure=relieving_pressure,
        source_pressure=source_pressure, highest_source_pressure=highest_source_pressure,
    )  # fmt: skip
    refuse(source <= normal, "source_pressure", source, "must be above the vessel's normal "
           "pressure: the normal flow needs a drop")  # fmt: skip
    refuse(highest < source, "highest_source_pressure", highest, "is below the normal one")
    n = 2 if compressible else 1
    ratio = (highest**n - P1**n) / (source**n - normal**n)
    return result(W * np.sqrt(np.maximum(ratio, 0.0)))


@dataclass(frozen=True)
class SourceCurve:
    """What a machine gives at each discharge pressure, by points that its maker states.

    discharge_pressures [Pa absolute], rising; mass_flows [kg/s], not rising with them. Raises
    InputError for fewer than two points, another order or lengths that differ. Validity: between
    its points, straight; the curve of the largest speed, rotor or clearance that may run.
    """

    discharge_pressures: tuple
    mass_flows: tuple

    def __post_init__(self):
        P = positive(discharge_pressures=self.discharge_pressures)
        W = not_negative(mass_flows=self.mass_flows)
        if np.ndim(P) != 1 or np.shape(P) != np.shape(W) or len(P) < 2:
            raise InputError("discharge_pressures, mass_flows: give two points or more, as many")
        refuse(np.diff(P) <= 0, "discharge_pressures", P[1:], "must rise from point to point")
        refuse(np.diff(W) > 0, "mass_flows", W[1:], "must not rise with the discharge pressure")

    def mass_flow(self, pressure):
        """Flow [kg/s] at a discharge pressure [Pa absolute], number or array.

        Raises InputError beyond the points: only a last point without flow says what is above it.
        """
        P, ends = finite(pressure=pressure), (self.discharge_pressures[0],
                                              self.discharge_pressures[-1])  # fmt: skip
        refuse(P < ends[0], "pressure", P, "lies below the first point of the curve")
        if self.mass_flows[-1] > 0:
            refuse(P > ends[1], "pressure", P, "lies above the last point of the curve, where the "
                   "machine still gives gas")  # fmt: skip
        return result(np.interp(P, self.discharge_pressures, self.mass_flows) + 0.0 * P)


@dataclass(frozen=True)
class PumpCurve:
    """A centrifugal pump by three numbers: shutoff_head [m], rated_head [m], rated_volume_flow.

    Head falls with the square of the flow [m3/s]. Raises InputError unless the head falls.
    Validity: between no flow and 1.2 times rated flow (ValidityWarning beyond: the parabola is then
    a guess, and a pump passes less or drives its motor off). Source: common practice, no source.
    """

    shutoff_head: float
    rated_head: float
    rated_volume_flow: float

    def __post_init__(self):
        H0, Hr, _ = positive(shutoff_head=self.shutoff_head, rated_head=self.rated_head,
                             rated_volume_flow=self.rated_volume_flow)  # fmt: skip
        refuse(Hr >= H0, "rated_head", Hr, "must be below the shutoff head")

    def head(self, volume_flow):
        """Head [m] at a flow [m3/s]."""
        q = not_negative(volume_flow=volume_flow)
        drop = self.shutoff_head - self.rated_head
        return result(self.shutoff_head - drop * (q / self.rated_volume_flow) ** 2)

    def volume_flow(self, head):
        """Flow [m3/s] at a head [m]; 0 at and above the shutoff head."""
        H = finite(head=head)
        part = (self.shutoff_head - H) / (self.shutoff_head - self.rated_head)
        warn_outside(part > FURTHEST**2, "head", H, "the stated curve, up to 1.2 times rated flow: "
                     "take the pump's own curve", PRACTICE)  # fmt: skip
        return result(self.rated_volume_flow * np.sqrt(np.maximum(part, 0.0)))


def deadhead_pressure(suction_pressure, shutoff_head, density):
    """Pressure a pump reaches against a closed outlet.

    Parameters: suction_pressure [Pa absolute], at ITS maximum (usually the relieving pressure of
    the suction vessel plus liquid head); shutoff_head [m]; density [kg/m3]; arrays broadcast.
    Returns Pa absolute. Raises InputError if one is not above 0. Source: rho g H.
    >>> round(deadhead_pressure(4.51325e5, 120.0, 800.0) - 101325)
    1291438
    """
    P, H0, density = positive(
        suction_pressure=suction_pressure, shutoff_head=shutoff_head, density=density
    )
    return result(P + density * GRAVITY * H0)


def pump_load(curve, suction_pressure, relieving_pressure, density, elevation=0.0,
              viscosity=None, saturation_pressure=None):  # fmt: skip
    """Load of a pump whose discharge is closed: the flow on its curve at relieving pressure.

    Parameters: curve, `PumpCurve`; suction_pressure, at its maximum, and relieving_pressure at
    the valve [Pa absolute]; density [kg/m3]; elevation of the valve above the suction gauge [m];
    viscosity [Pa s], saturation_pressure [Pa] or None. Arrays broadcast. Returns `ReliefLoad` of
    liquid; no load where the shutoff head can't reach the relieving pressure. Raises InputError as
    its parts. Source: API 521 (2020), 4.4.2; pump curve.
    >>> load = pump_load(PumpCurve(120.0, 100.0, 0.01), 4.5e5, 12e5, 800.0)
    >>> round(load.mass_flow, 2)
    8.84
    """
    P0, P1, density = positive(
        suction_pressure=suction_pressure, relieving_pressure=relieving_pressure, density=density
    )
    warn_outside(P1 < P0, "relieving_pressure", P1, "what a pump is needed for: it is below the "
                 "suction pressure, fluid flows through the pump by itself", SOURCE)  # fmt: skip
    z = finite(elevation=elevation)
    head = result((P1 - P0) / (density * GRAVITY) + z)
    flow = curve.volume_flow(head)
    inflow = result(density * flow)
    steps = [
        step("head", head, "(P1 - Psuc)/(rho*g) + z", "rho g H; suction at its own maximum",
             pressure=relieving_pressure, suction_pressure=suction_pressure,
             density=result(density), gravity=GRAVITY, elevation=elevation),
        step("volume_flow", flow, "qr*sqrt(max(H0 - H, 0)/(H0 - Hr))", PRACTICE, head=head,
             rated_volume_flow=curve.rated_volume_flow, shutoff_head=curve.shutoff_head,
             rated_head=curve.rated_head),
        step("inflow", inflow, "rho*q", "", density=result(density), volume_flow=flow),
    ]  # fmt: skip
    stream = Liquid(relieving_pressure, result(density), viscosity=viscosity,
                    saturation_pressure=saturation_pressure)  # fmt: skip
    return relief_load(inflow, stream, working=steps)
