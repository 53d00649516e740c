"""A vessel with a sprung disk on it, without dimensions: to teach chatter from, not to size.

Three quantities move: lift of the disk, its speed, pressure of the vessel. The disk has mass,
spring and damping; the vessel fills at a steady flow and empties through the gap. Above a critical
flow the disk stands still; below it (an OVERSIZED valve, a small load) the standstill is unstable,
and it swings ever wider until it strikes its seat. No inlet pipe: with one, the wave in it makes
this worse (gas: quarter-wave of the pipe; liquid: at once into violent chatter).
Source: model of Licsko, Champneys and Hos, IAENG Int. J. Appl. Math. 39:4 (2009), equations and
usual parameters from memory; the published figures could not be read.
"""

from dataclasses import KW_ONLY, dataclass
from math import sqrt

import numpy as np

from relieflib.errors import InputError, not_negative, positive, refuse, result

_RESTS = 1e-5  # guard: speed of impact below which the disk lies on its seat
_MOST = 2000  # guard: impacts of one run


@dataclass(frozen=True)
class SprungDisk:
    """The model's numbers, without dimensions: damping, preload (set), stiffness, rebound.

    damping kappa, preload delta, stiffness beta of the vessel (a small one is stiff), rebound r,
    part of the speed that the disk keeps when it strikes the seat. Raises InputError for a value
    outside. Source: as the module.
    >>> disk = SprungDisk()
    >>> round(disk.critical_flow, 4), round(disk.standing(disk.critical_flow)[0], 4)
    (8.4911, 2.4103)
    """

    _: KW_ONLY
    damping: float = 1.25
    preload: float = 10.0
    stiffness: float = 20.0
    rebound: float = 0.8

    def __post_init__(self):
        positive(damping=self.damping, preload=self.preload, stiffness=self.stiffness)
        part = not_negative(rebound=self.rebound)
        refuse(part >= 1.0, "rebound", part, "must be below 1")

    def standing(self, flow):
        """Lift and pressure at which the disk would stand still under a flow."""
        from scipy.optimize import brentq

        q = float(positive(flow=flow))
        lift = brentq(lambda y: y * sqrt(y + self.preload) - q, 0.0, q + 1.0, xtol=1e-14)
        return lift, lift + self.preload

    def margin(self, lift):
        """Routh and Hurwitz's margin at a standing lift: above 0 it is stable."""
        p = lift + self.preload
        s = self.stiffness * lift / (2.0 * sqrt(p))
        return (self.damping + s) * (1.0 + self.damping * s) - s - self.stiffness * sqrt(p)

    @property
    def critical_flow(self):
        """Flow below which the standstill is unstable; InputError where it is stable at all."""
        from scipy.optimize import brentq

        lifts = np.geomspace(1e-6, 1e3, 400)
        margins = np.array([self.margin(y) for y in lifts])
        turns = np.flatnonzero((margins[:-1] < 0) & (margins[1:] >= 0))
        if not turns.size:
            raise InputError("damping: no flow at which this disk begins to swing")
        i = turns[-1]
        lift = brentq(self.margin, lifts[i], lifts[i + 1], xtol=1e-13)
        return result(lift * sqrt(lift + self.preload))

    @property
    def critical_frequency(self):
        """Angular frequency of the swing that begins at the critical flow."""
        lift, p = self.standing(self.critical_flow)
        return sqrt(1.0 + self.damping * self.stiffness * lift / (2.0 * sqrt(p)))

    def run(self, flow, time=200.0, steps=2000, start=None):
        """Follow the disk: arrays of time, lift, speed, pressure, and how often it struck.

        Parameters: flow; time, how long; steps, points in the result; start (lift, speed,
        pressure), by default 4 % above the standstill. Returns a tuple of four arrays and a count.
        Raises InputError for a flow or time not above 0. Source: as the module; impacts are events.
        """
        from scipy.integrate import solve_ivp

        q, end = (float(v) for v in positive(flow=flow, time=time))
        lift, p = self.standing(q)
        state, t, pieces, strikes = list(start or (1.04 * lift, 0.0, p)), 0.0, [], 0

        def rates(_, y):
            lift, speed, p = y[0], y[1], max(y[2], 0.0)
            return [speed, -self.damping * speed - lift - self.preload + p,
                    self.stiffness * (q - lift * sqrt(p))]  # fmt: skip

        def strikes_seat(_, y):
            return y[0]

        strikes_seat.terminal, strikes_seat.direction = True, -1
        while t < end and strikes < _MOST:
            found = solve_ivp(rates, (t, end), state, rtol=1e-8, atol=1e-9, method="LSODA",
                              events=strikes_seat, dense_output=True)  # fmt: skip
            pieces.append((t, float(found.t[-1]), found.sol))
            t, (_, speed, p) = float(found.t[-1]), found.y[:, -1]
            if t >= end:
                break
            strikes += 1
            state = [0.0, -self.rebound * speed, p]
            if abs(speed) < _RESTS and p < self.preload:  # it lies there until the vessel lifts it
                wait = (self.preload - p) / (self.stiffness * q)
                pieces.append((t, t + wait, _resting(t, p, self.stiffness * q)))
                t, state = t + wait, [0.0, 0.0, self.preload * (1.0 + 1e-9)]
        return (*_sampled(pieces, min(t, end), steps), strikes)


def _resting(t0, p, rise):
    return lambda t: np.array([0.0 * t, 0.0 * t, p + rise * (t - t0)])


def _sampled(pieces, end, steps):
    """Arrays of time and of the three quantities, over all pieces."""
    times, values = [], []
    for begin, until, sol in pieces:
        n = max(3, int(steps * (until - begin) / end))
        t = np.linspace(begin, min(until, end), n)
        times.append(t)
        values.append(sol(t))
    return (np.concatenate(times), *np.concatenate(values, axis=1))
