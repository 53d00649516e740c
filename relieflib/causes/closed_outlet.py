"""Closed outlet: what flows in has nowhere to go but the valve."""

from dataclasses import dataclass

import numpy as np

from relieflib.errors import finite, not_negative, positive, refuse, result, warn_outside
from relieflib.nozzle.liquid import Liquid
from relieflib.sizing import ReliefLoad
from relieflib.units import GRAVITY
from relieflib.working import Working, step

NOTEBOOK = 10
PUBLISHED = {"closed outlet": ("4.4.2", "5.5")}

SOURCE = "API 521 (2020), 4.4.2"
PRACTICE = "common practice, no source"
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


def inflow_at_relieving(normal_flow, upstream_pressure, normal_pressure, relieving_pressure,
                        compressible=True):  # fmt: skip
    """Flow of a source through a fixed resistance once the vessel is at relieving pressure.

    Parameters: normal_flow [kg/s] when the vessel is at normal_pressure; upstream_pressure,
    normal_pressure, relieving_pressure [Pa absolute]; compressible True for gas (difference of
    squares), False for liquid (difference). Arrays broadcast. Returns kg/s; 0 where the source
    can't reach the relieving pressure. Raises InputError if the source does not stand above the
    normal pressure. Validity: turbulent, not choked; a source held by its own controls or a
    compressor follows its own curve. Source: square-law resistance, common practice, no source.
    >>> round(inflow_at_relieving(3.0, 20e5, 10e5, 11e5), 3)
    2.893
    """
    W = not_negative(normal_flow=normal_flow)
    up, normal, P1 = positive(
        upstream_pressure=upstream_pressure, normal_pressure=normal_pressure,
        relieving_pressure=relieving_pressure,
    )  # fmt: skip
    refuse(up <= normal, "upstream_pressure", up, "must be above the vessel's normal pressure")
    n = 2 if compressible else 1
    ratio = (up**n - P1**n) / (up**n - normal**n)
    return result(W * np.sqrt(np.maximum(ratio, 0.0)))


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
