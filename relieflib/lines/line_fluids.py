"""What flows in a line: three fluids with one set of answers about a pipe of one bore.

- `Adiabatic`, an ideal gas whose stagnation temperature stays (Fanno);
- `Expanding`, whose specific volume is a + b/P: isothermal gas (a = 0) and homogeneous two-phase
  flow, where a and b come from omega;
- `Incompressible`, a liquid.
All is told by mass flux G, kg/(m2 s) of the pipe's own bore, and by N, the velocity heads lost:
N = f L/D + sum of K. The momentum balance is dP + G^2 dv + G^2 v/2 dN = 0. Pressures are static.
A widening wins pressure back by the momentum balance of an abrupt one, whatever its taper: a gentle
taper wins more, so this is the careful side for the back pressure.
At an open end the static pressure is that of the surroundings, or the choke pressure where that is
higher, and no exit loss belongs to N: the velocity head is lost beyond the end.
"""

from dataclasses import dataclass

import numpy as np

from relieflib.errors import InputError, not_negative, one_number, positive, refuse, result
from relieflib.lines.pipe_flow import _fanno, _fanno_inverse
from relieflib.units import GAS_CONSTANT


@dataclass(frozen=True)
class Adiabatic:
    """Ideal gas with a constant stagnation temperature [K]; molar_mass [kg/kmol], k, Z [-].

    Raises InputError for values not above 0 or k not above 1. Fields may be arrays. In its methods
    y is 1/Ma^2, and P = G c y/sqrt(y + m) with c = sqrt(Z R T0/(k M)), m = (k - 1)/2.
    """

    temperature: float
    molar_mass: float
    k: float
    Z: float = 1.0
    kind = "adiabatic"

    def __post_init__(self):
        T, M, Z, k = positive(
            temperature=self.temperature, molar_mass=self.molar_mass, Z=self.Z, k=self.k
        )
        refuse(k <= 1.0, "k", k, "must be above 1; take the ideal-gas ratio")
        object.__setattr__(self, "c", np.sqrt(Z * GAS_CONSTANT * T / (k * M)))
        object.__setattr__(self, "_m", (k - 1.0) / 2.0)

    def choke(self, G):
        """Lowest static pressure [Pa] at which a flux G leaves a pipe: Ma 1."""
        return G * self.c / np.sqrt(1.0 + self._m)

    def _y(self, P, G):
        q = (P / (G * self.c)) ** 2
        return np.maximum(0.5 * (q + np.sqrt(q**2 + 4.0 * q * self._m)), 1.0)

    def pressure_at(self, y, G):
        """Static pressure [Pa] at y = 1/Ma^2."""
        return G * self.c * y / np.sqrt(y + self._m)

    def upstream(self, P, G, N):
        """Static pressure [Pa] before N velocity heads, from that after them."""
        heads = N + _fanno(self._y(P, G) - 1.0, np.asarray(self.k))
        y = 1.0 + _fanno_inverse(*np.broadcast_arrays(heads, np.asarray(self.k, dtype=float)))
        return np.where(np.asarray(N) == 0, P, self.pressure_at(y, G))

    def widen(self, P, G, G_after, K=None):
        """Pressure [Pa] before an abrupt widening, by momentum; that of choking where it chokes."""
        kb = self.k * G_after / G
        y_after = self._y(P, G_after)
        q2 = ((G_after / G * y_after + kb) / np.sqrt(y_after + self._m)) ** 2
        root = np.sqrt(np.maximum(q2 * (q2 - 4.0 * kb + 4.0 * self._m), 0.0))
        return self.pressure_at(np.maximum(0.5 * (q2 - 2.0 * kb + root), 1.0), G)

    def narrow(self, P, G, G_after):
        """Pressure [Pa] before a narrowing without loss: the stagnation pressure stays."""
        total = self.total(P, G_after)
        return self.pressure_at(self.of_total(total, G), G)

    def total(self, P, G):
        """Stagnation pressure [Pa]."""
        return P * (1.0 + self._m / self._y(P, G)) ** (0.5 * self.k / self._m)

    def of_total(self, total, G):
        """1/Ma^2 of a flux G from a stagnation pressure [Pa], subsonic; NaN where it can't pass.

        Newton on ln y: the logarithm of the flux is concave, so steps from the right can't miss.
        """
        m, n = self._m, 0.25 * (self.k + 1.0) / self._m
        target, most = np.log(G * self.c / total), -n * np.log1p(m)
        passes = target <= most + 1e-12
        target = np.where(passes, np.minimum(target, most), np.nan)
        t = -2.0 * target  # guard: where the steps begin
        for _ in range(100):
            y = np.exp(t)
            slope = -0.5 + 0.25 * (self.k + 1.0) / (y + m)  # guard: the pace of the steps
            miss = -0.5 * t - n * np.log1p(m / y) - target
            change = miss / np.where(slope < 0, slope, -1.0)  # guard: the pace of the steps
            t = np.maximum(t - change, 0.0)
            if not np.any(np.abs(change) > 1e-15):
                break
        return np.exp(t)

    def velocity(self, P, G):
        """Velocity [m/s]."""
        return self.k * self.c / np.sqrt(self._y(P, G) + self._m)

    def mach(self, P, G):
        """Mach number [-]."""
        return 1.0 / np.sqrt(self._y(P, G))

    def static_temperature(self, P, G):
        """Static temperature [K]."""
        return self.temperature / (1.0 + self._m / self._y(P, G))


@dataclass(frozen=True)
class Expanding:
    """Fluid whose specific volume is a + b/P up to a pressure top [Pa], and constant above it.

    a [m3/kg], b [J/kg]; temperature [K] if it is known and stays. Made by `isothermal` and
    `homogeneous`. Method: homogeneous flow, no slip, in equilibrium as omega has it.
    """

    a: float
    b: float
    top: float = np.inf
    temperature: float | None = None
    kind = "expanding"

    @classmethod
    def isothermal(cls, temperature, molar_mass, Z=1.0):
        """An ideal gas at a constant temperature [K]; molar_mass [kg/kmol], Z [-]."""
        T, M, Z = positive(temperature=temperature, molar_mass=molar_mass, Z=Z)
        return cls(0.0 * T, result(Z * GAS_CONSTANT * T / M), np.inf, temperature)

    @classmethod
    def homogeneous(cls, pressure, density, omega):
        """Two-phase flow by omega from its saturation pressure [Pa] and density there [kg/m3]."""
        P, rho, w = positive(pressure=pressure, density=density, omega=omega)
        return cls(result((1.0 - w) / rho), result(w * P / rho), pressure)

    def volume(self, P):
        """Specific volume [m3/kg]."""
        return self.a + self.b / np.minimum(P, self.top)

    def choke(self, G):
        """Lowest pressure [Pa] at which a flux G leaves a pipe."""
        return np.minimum(G * np.sqrt(self.b), self.top)

    def _work(self, P):
        """Integral of dP/v [Pa kg/m3], from a lower end that cancels in differences."""
        below = np.minimum(P, self.top)
        e = np.asarray(self.a * below / self.b, dtype=float)
        # (e - ln(1 + e))/e^2, by its series where e is small and the difference loses its digits
        small = np.abs(e) < 0.03  # guard: both forms hold there
        series = sum((-1.0) ** i * e**i / (i + 2) for i in range(12))
        safe = np.where(small, 1.0, e)  # guard: not used where small
        phi = np.where(small, series, (safe - np.log1p(safe)) / safe**2)
        return below**2 / self.b * phi + np.where(P > below, (P - below) / self.volume(P), 0.0)

    def heads(self, P, P_after, G):
        """Velocity heads between two pressures [Pa]."""
        grow = np.log(self.volume(P_after) / self.volume(P))
        return 2.0 / G**2 * (self._work(P) - self._work(P_after)) - 2.0 * grow

    def upstream(self, P, G, N):
        """Static pressure [Pa] before N velocity heads, from that after them: convex, by Newton."""
        P, G, N, _ = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in (P, G, N, self.a)))
        found = 2.0 * P  # guard: where the steps begin
        for _ in range(100):
            v, below = self.volume(found), found <= self.top
            bent = np.where(below, self.b / found**2, 0.0)  # guard: the pace of the steps
            slope = 2.0 / v * (1.0 / G**2 - bent)  # guard: the pace of the steps
            change = (self.heads(found, P, G) - N) / np.where(slope > 0, slope, np.inf)
            found = np.maximum(found - change, P)
            if not np.any(np.abs(change) > 1e-14 * found):
                break
        return np.where(N == 0, P, found)

    def widen(self, P, G, G_after, K=None):
        """Pressure [Pa] before an abrupt widening, by momentum; that of choking where it chokes."""
        push = P + G_after**2 * self.volume(P)
        half = 0.5 * (push - G * G_after * self.a)
        root = np.sqrt(np.maximum(half**2 - G * G_after * self.b, 0.0))
        above = push - G * G_after * self.volume(self.top)
        found = np.where(above > self.top, above, np.minimum(half + root, self.top))
        return np.maximum(found, self.choke(G))

    def narrow(self, P, G, G_after):
        """Pressure [Pa] before a narrowing without loss, by the energy of flow along it."""

        def energy(p, flux):
            q = np.minimum(p, self.top)
            extra = np.where(p > q, (p - q) * self.volume(p), 0.0)
            return self.a * q + self.b * np.log(q) + extra + 0.5 * (flux * self.volume(p)) ** 2

        wanted = energy(P, G_after)
        found = np.asarray(P * (1.0 + 1e-9) + G_after**2 * self.volume(P))
        for _ in range(100):
            v = self.volume(found)
            bent = np.where(found <= self.top, G**2 * self.b / found**2, 0.0)  # guard: pace
            slope = v * (1.0 - bent)  # guard: the pace of the steps
            change = (energy(found, G) - wanted) / np.where(slope > 0, slope, np.inf)
            found = np.maximum(found - change, P)
            if not np.any(np.abs(change) > 1e-14 * found):
                break
        return found

    def velocity(self, P, G):
        """Velocity [m/s]."""
        return G * self.volume(P)

    def mach(self, P, G):
        """Velocity over that at which this flow chokes [-]; for a gas, Ma times sqrt(k)."""
        return G * np.sqrt(self.b) / np.minimum(P, self.top)

    def static_temperature(self, P, G):
        """Temperature [K]; NaN where it isn't known."""
        return (np.nan if self.temperature is None else self.temperature) + 0.0 * P


@dataclass(frozen=True)
class Incompressible:
    """A liquid of one density [kg/m3]; temperature [K] if it is known."""

    density: float
    temperature: float | None = None
    kind = "liquid"

    def __post_init__(self):
        positive(density=self.density)

    def choke(self, G):
        """0 Pa: a liquid that doesn't boil doesn't choke."""
        return 0.0 * G / self.density

    def upstream(self, P, G, N):
        """Static pressure [Pa] before N velocity heads."""
        return P + N * G**2 / (2.0 * self.density)

    def widen(self, P, G, G_after, K):
        """Pressure [Pa] before a widening of loss coefficient K."""
        return P + (G_after**2 - (1.0 - K) * G**2) / (2.0 * self.density)

    def narrow(self, P, G, G_after):
        """Pressure [Pa] before a narrowing without loss."""
        return P + (G_after**2 - G**2) / (2.0 * self.density)

    def velocity(self, P, G):
        """Velocity [m/s]."""
        return G / self.density + 0.0 * P

    def mach(self, P, G):
        """0: sound travels much faster than a liquid in a pipe."""
        return 0.0 * G * P / self.density

    def static_temperature(self, P, G):
        """Temperature [K]; NaN where it isn't known."""
        return (np.nan if self.temperature is None else self.temperature) + 0.0 * P


def discharge_flux(pressure, temperature, molar_mass, k, velocity_heads, Z=1.0, back_pressure=0.0):
    """Mass flux of an ideal gas from a vessel through a pipe, choked at its end or not, adiabatic.

    Parameters: pressure in the vessel, back_pressure [Pa]; temperature in the vessel [K];
    molar_mass [kg/kmol]; k, Z [-]; velocity_heads of the pipe, entrance included [-]; arrays
    broadcast. Returns kg/(m2 s) of the pipe's bore; without velocity heads that of the nozzle.
    Raises InputError for values not above 0, a back pressure negative or above the vessel's.
    Source: isentropic acceleration, then adiabatic pipe flow (Fanno).
    >>> round(discharge_flux(1e6, 300.0, 28.97, 1.4, 5.0))
    1169
    """
    P, T = positive(pressure=pressure, temperature=temperature)
    N, back = not_negative(velocity_heads=velocity_heads, back_pressure=back_pressure)
    refuse(back > P, "back_pressure", back, "is above the vessel's pressure: flow would reverse")
    gas = Adiabatic(T, molar_mass, k, Z)
    P, N, back, k, m, c = np.broadcast_arrays(
        P, N, back, np.asarray(k, dtype=float), gas._m, gas.c)  # fmt: skip

    def flux_and_end(s):
        y = 1.0 + _fanno_inverse(N + _fanno(s, k), k)
        G = P / c / np.sqrt(y) * (1.0 + m / y) ** (-(k + 1.0) / (4.0 * m))
        return G, G * c * (1.0 + s) / np.sqrt(1.0 + s + m)

    # ln s by bisection, NaN stays NaN
    low, high = np.full(P.shape, -30.0), np.full(P.shape, 60.0)  # guard: wider than any pipe's
    for _ in range(60):
        middle = 0.5 * (low + high)  # guard: the pace of the steps
        below = flux_and_end(np.exp(middle))[1] < back
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    choked_flux, choked_end = flux_and_end(np.zeros(P.shape))
    flux = np.where(choked_end >= back, choked_flux, flux_and_end(np.exp(high))[0])
    flux = np.where(back >= P, 0.0, flux)
    return result(np.where(np.isnan(back), np.nan, flux))


def upstream_pressure(line_fluid, mass_flux, downstream_pressure, velocity_heads):
    """Static pressure at the start of a pipe of one bore, choked at its end or not.

    Parameters: line_fluid, `Adiabatic`, `Expanding` or `Incompressible`; mass_flux in the pipe
    [kg/(m2 s)]; downstream_pressure [Pa] beyond its end; velocity_heads, f L/D and K [-]; arrays
    broadcast. Returns Pa. Raises InputError for values not above 0, negative velocity heads.
    Source: momentum balance; with an isothermal gas, API 521 (2020), 5.5.
    >>> gas = Expanding.isothermal(350.0, 30.0)
    >>> round(upstream_pressure(gas, 20 / 0.1963495, 1.2e5, 9.0))
    154825
    """
    G, P = positive(mass_flux=mass_flux, downstream_pressure=downstream_pressure)
    N = not_negative(velocity_heads=velocity_heads)
    if not hasattr(line_fluid, "choke"):
        raise InputError(
            f"line_fluid = {line_fluid!r}: must be Adiabatic, Expanding or Incompressible"
        )
    return result(line_fluid.upstream(np.maximum(P, line_fluid.choke(G)), G, N))


def flux_between(line_fluid, upstream_pressure, downstream_pressure, velocity_heads):
    """Mass flux in a pipe of one bore between two static pressures, choked at its end or not.

    Parameters: line_fluid, `Adiabatic`, `Expanding` or `Incompressible`; upstream_pressure at its
    start, downstream_pressure beyond its end [Pa]; velocity_heads, f L/D and K [-]; arrays
    broadcast. Returns kg/(m2 s): where it chokes, a lower downstream pressure adds nothing.
    Raises InputError for values not above 0, or a downstream pressure above the upstream one.
    From a vessel, whose fluid is at rest: `discharge_flux`. Source: inverse of
    `upstream_pressure` by bisection; momentum balance.
    >>> round(flux_between(Expanding.isothermal(350.0, 30.0), 154825.0, 1.2e5, 9.0), 2)
    101.86
    """
    up, down = positive(
        upstream_pressure=upstream_pressure, downstream_pressure=downstream_pressure
    )
    N = positive(velocity_heads=velocity_heads)
    refuse(down > up, "downstream_pressure", down, "is above the upstream pressure")
    up, down, N = np.broadcast_arrays(up, down, N)
    high = np.log(_most_flux(line_fluid, up, N))
    low = high - 40.0  # guard: less than any pipe's
    for _ in range(60):
        middle = 0.5 * (low + high)  # guard: the pace of the steps
        G = np.exp(middle)
        start = line_fluid.upstream(np.maximum(down, line_fluid.choke(G)), G, N)
        low, high = np.where(start <= up, middle, low), np.where(start <= up, high, middle)
    flux = np.where(down < up, np.exp(low), 0.0)
    return result(np.where(np.isnan(up + down + N), np.nan, flux))


def _most_flux(line_fluid, up, N):
    """Flux that no pipe of N velocity heads passes: all of the pressure for friction, or choked."""
    if line_fluid.kind == "adiabatic":
        return up / line_fluid.choke(1.0)
    density = line_fluid.density if line_fluid.kind == "liquid" else 1.0 / line_fluid.volume(up)
    return 1.001 * np.sqrt(2.0 * up * density / N)


def outlet_temperature(stream, pressure):
    """Temperature of what has passed a valve, at rest at a pressure: the enthalpy stays.

    Parameters: stream; pressure [Pa] behind the valve, number or array. Returns K; NaN where the
    stream does not know it (liquid, two-phase by omega). An ideal gas keeps its temperature: the
    Joule-Thomson cooling of a real one needs `RealFluid`. Raises InputError as `State`.
    Source: throttling at constant enthalpy; CoolProp for steam and real fluids.
    >>> from relieflib.nozzle.gas import Gas
    >>> outlet_temperature(Gas(670e3, 348.0, molar_mass=51.0, k=1.11), 101325.0)
    348.0
    """
    P = positive(pressure=pressure)
    if stream.phase == "gas":
        return result(stream.temperature + 0.0 * P)
    state = _throttled(stream, P)
    return result(np.nan * P) if state is None else state.temperature


def _throttled(stream, P):
    """State behind the valve of steam or a real fluid; None for the others."""
    from relieflib.properties import State

    if stream.phase == "steam":
        inlet = State("Water", stream.pressure, quality=stream.quality)
        if stream.temperature is not None:
            inlet = State("Water", stream.pressure, temperature=stream.temperature)
        return State("Water", P, enthalpy=inlet.enthalpy)
    if stream.phase == "real fluid":
        return State(stream.fluid, P, enthalpy=stream.state.enthalpy)
    return None


@dataclass(frozen=True)
class Behind:
    """What has passed a valve, at rest at a pressure [Pa].

    phase, 'gas', 'liquid', 'two-phase', or 'not known' for a liquid whose vapour pressure isn't;
    quality and void_fraction, vapour by mass and by volume [-], and temperature [K], NaN where
    they are not known.
    """

    pressure: float
    phase: str
    quality: float = np.nan
    void_fraction: float = np.nan
    temperature: float = np.nan


def behind_valve(stream, pressure):
    """Phase of what has passed a valve: liquid may have flashed, at constant enthalpy.

    Parameters: stream; pressure [Pa] where it ends up; floats. Returns `Behind`. A liquid or a
    subcooled two-phase stream boils where its vapour pressure is above the pressure; a liquid
    without one is not known. Gas by the gas law stays gas, steam counts as gas.
    Raises InputError as `State`, also where solid may form. Validity: equilibrium, no heat taken up
    on the way. Source: throttling at constant enthalpy; CoolProp for real fluids.
    >>> from relieflib.nozzle.real_fluid import RealFluid
    >>> b = behind_valve(RealFluid("Propane", 20e5, temperature=316.15), 1.51325e5)
    >>> b.phase, round(b.quality, 2), round(b.void_fraction, 3), round(b.temperature - 273.15)
    ('two-phase', 0.47, 0.993, -33)
    """
    one_number(pressure=pressure)
    P = result(positive(pressure=pressure))
    if stream.phase in ("gas", "steam"):
        return Behind(P, "gas", 1.0, 1.0, outlet_temperature(stream, P))
    if stream.phase == "real fluid":
        return _behind_real(_throttled(stream, P))
    Ps = stream.saturation_pressure
    if Ps is None:
        return Behind(P, "not known" if stream.phase == "liquid" else "two-phase")
    return Behind(P, "two-phase") if Ps > P else Behind(P, "liquid", 0.0, 0.0)


def _behind_real(state):
    x, at = state.quality, (state.pressure, state.temperature)
    if 0.0 < x < 1.0:
        pure = "&" not in state.fluid
        void = x * state.density / state.vapor.density if pure else np.nan
        return Behind(at[0], "two-phase", x, void, at[1])
    if x == 0.0 or "liquid" in state.phase:
        return Behind(at[0], "liquid", 0.0, 0.0, at[1])
    return Behind(at[0], "gas", 1.0, 1.0, at[1])


def fluid_in_line(stream, pressure, flow="adiabatic", line_Z=1.0):
    """What a stream is in the line behind its valve.

    Parameters: stream; pressure [Pa] at the line's end, where a real fluid's state is taken; flow,
    'adiabatic' or 'isothermal' for gas; line_Z, compressibility factor of a gas in the line [-].
    Returns `Adiabatic`, `Expanding` or `Incompressible`. Raises InputError for an unknown flow,
    for a flow or line_Z that the stream ignores, and for a liquid that boils at the line's end.
    Validity: gas ideal but for its Z; two-phase flow homogeneous and in equilibrium, by the omega
    of the inlet, or for a real fluid through its inlet and its state at constant enthalpy at the
    end. Source: API 521 (2020), 5.5; Leung, omega method, for two-phase.
    >>> from relieflib.nozzle.liquid import Liquid
    >>> fluid_in_line(Liquid(5e5, 800.0), 1e5)
    Incompressible(density=800.0, temperature=None)
    """
    if flow not in ("adiabatic", "isothermal"):
        raise InputError(f"flow = '{flow}': use 'adiabatic' or 'isothermal'")
    positive(pressure=pressure)
    if stream.phase == "gas":
        if flow == "isothermal":
            return Expanding.isothermal(stream.temperature, stream.molar_mass, line_Z)
        return Adiabatic(stream.temperature, stream.molar_mass, stream.k, line_Z)
    if flow == "isothermal" or np.any(np.asarray(line_Z) != 1.0):
        raise InputError(f"flow and line_Z belong to Gas: a {stream.phase} stream ignores them")
    if stream.phase == "liquid":
        _refuse_boiling(stream, pressure)
        return Incompressible(stream.density)
    if stream.phase == "two-phase":
        Ps = stream.pressure if stream.saturation_pressure is None else stream.saturation_pressure
        return Expanding.homogeneous(Ps, stream.density, stream.omega)
    return _of_state(stream, _throttled(stream, positive(pressure=pressure)))


def _refuse_boiling(stream, pressure):
    Ps = stream.saturation_pressure
    if Ps is not None:
        refuse(np.asarray(Ps) > pressure, "saturation_pressure", np.asarray(Ps),
               "is above the pressure at the line's end: the liquid boils in the line and takes "
               "many times its volume; use RealFluid or TwoPhase")  # fmt: skip


def _of_state(stream, end):
    phase = np.asarray(end.phase, dtype=object)
    known, wet = phase != "unknown", phase == "two-phase"  # NaN in has no phase
    if np.any(wet) and np.all(wet | ~known):
        return _flashing(stream, end)
    if np.any(wet):
        raise InputError("two-phase and single-phase ends of the line in one array: part them")
    if np.all(np.isin(phase[known], ("liquid", "supercritical liquid"))):
        return Incompressible(end.density, end.temperature)
    return Adiabatic(end.temperature, end.molar_mass, end.k, end.Z)


def _flashing(stream, end):
    """Specific volume linear in 1/P between the end and where the stream begins to boil."""
    from relieflib.properties import State

    top, v_top = stream.pressure, 1.0 / np.asarray(stream.density)
    if stream.phase == "real fluid" and np.all(np.asarray(stream.state.phase) == "liquid"):
        top = stream.state.saturation_pressure
        v_top = np.asarray(State(stream.fluid, top, quality=0.0).specific_volume)
    v_end, inverse = np.asarray(end.specific_volume), 1.0 / np.asarray(end.pressure)
    b = (v_end - v_top) / (inverse - 1.0 / np.asarray(top))
    return Expanding(result(v_end - b * inverse), result(b), top)
