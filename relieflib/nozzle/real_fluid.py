"""Mass flux of a real fluid at equilibrium: density times velocity, maximised along the isentrope.

G = max over P of rho(P, s0) sqrt(2 (h0 - h(P, s0))), with the properties of a reference equation
of state. Gas near its critical point, supercritical fluid, saturated or subcooled liquid and
two-phase inlets are one case. The flux has a kink where the isentrope crosses the bubble or dew
line, and its highest value may stand right there: each smooth stretch is searched by itself.
"""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property

import numpy as np

from relieflib.errors import (
    InputError,
    Value,
    finite,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
)
from relieflib.nozzle.isentrope import check_mixture, expansion, phase_changes
from relieflib.properties import State, critical_temperature
from relieflib.working import Working, step

SOURCE = "API 520-I (2020), Annex B; homogeneous equilibrium, reference equation of state"
RELAXATION_LENGTH = 0.1  # m, Fauske (1985): flow path after which flashing reaches equilibrium
_REFINE = 2e-4  # of a stretch: the flux is flat at its maximum, so this gives it to about 1e-7
_STEP = 1e-4  # of a stretch: tells on which side of an end the flux is higher


@dataclass(frozen=True)
class Throat:
    """What `throat` finds; floats or arrays.

    mass_flux [kg/(m2 s)]; pressure [Pa], temperature [K], quality [-] there (NaN in a single
    phase); choked, True where a lower back pressure adds nothing.
    """

    mass_flux: float
    pressure: float
    temperature: float
    quality: float
    choked: bool


class _Isentrope:
    """Flux along one isentrope and its peaks, for one inlet state of floats."""

    def __init__(self, fluid, pressure, enthalpy, entropy):
        self.fluid, self.P, self.h, self.s = fluid, pressure, enthalpy, entropy
        self._point = expansion(fluid)
        self.limit = None  # (pressure, words) where the equation of state ends before a peak
        self.peaks = self._find()

    def point(self, pressure):
        """Density, enthalpy, temperature, quality at a pressure."""
        return self._point(pressure, self.s)

    def flux(self, pressure):
        """Density times velocity after expansion to a pressure."""
        rho, h, _, _ = self._point(pressure, self.s)
        return rho * np.sqrt(2.0 * max(self.h - h, 0.0))

    def _find(self):
        """(pressure, flux) of the peak in each smooth stretch, from the inlet down."""
        high, peaks = self.P, []
        for low in phase_changes(self.fluid, self.s, self.P):
            peaks.append(self._peak(low, high))
            high = low
        last = self._last(high, best=max((g for _, g in peaks), default=0.0))
        return peaks + last

    def _last(self, high, best):
        """The stretch below the last phase change, widened until its peak lies inside."""
        for ratio in (0.45, 0.15, 0.02, 1e-3, 1e-5, 1e-7):  # guard: any first one does
            low = ratio * high
            try:
                self.flux(low)
            except InputError as error:
                low = self._lowest(low, high)
                p, g = self._peak(low, high)
                if p == low and g > best:
                    self.limit = (low, str(error))
                return [(p, g)]
            p, g = self._peak(low, high)
            if p > low:
                return [(p, g)]
        return [(p, g)]

    def _lowest(self, low, high):
        """Lowest pressure above which the isentrope can be followed, by bisection."""
        for _ in range(50):
            middle = 0.5 * (low + high)  # guard: any cut finds it
            try:
                self.flux(middle)
                high = middle
            except InputError:
                low = middle
        return high

    def _peak(self, low, high):
        """Highest flux between two pressures without a kink between them."""
        from scipy.optimize import minimize_scalar

        at_low = self.flux(low)
        if at_low >= self.flux(low + _STEP * (high - low)):
            return low, at_low
        at_high = self.flux(high)
        if at_high > self.flux(high - _STEP * (high - low)):
            return high, at_high
        found = minimize_scalar(
            lambda p: -self.flux(p), bounds=(low, high), method="bounded",
            options={"xatol": _REFINE * (high - low)},
        )  # fmt: skip
        return float(found.x), -float(found.fun)

    def throat(self, back):
        """(flux, throat pressure, choked) against a back pressure."""
        peaks = [(g, p) for p, g in self.peaks if p >= back]
        best = max(self.peaks, key=lambda peak: peak[1])
        if back <= best[0] and (self.limit is None or best[0] != self.limit[0]):
            return best[1], best[0], True
        if self.limit is not None and back < self.limit[0]:
            raise InputError(
                f"back_pressure = {back:.6g} Pa: {self.fluid} would expand below "
                f"{self.limit[0]:.6g} Pa before it chokes; {self.limit[1]}"
            )
        g, p = max([*peaks, (self.flux(back), back)])
        return g, p, False


def _inlet(fluid, pressure, temperature, quality, enthalpy):
    state = State(fluid, pressure, temperature, quality, enthalpy)
    check_mixture(fluid, state.pressure, state.temperature)
    return state


def _isentropes(state):
    """One `_Isentrope` an element, None for NaN."""
    P, h, s = (np.asarray(v) for v in (state.pressure, state.enthalpy, state.entropy))
    out = np.empty(P.shape, dtype=object)
    for i in np.ndindex(P.shape):
        if not np.isnan(h[i]):
            out[i] = _Isentrope(state.fluid, float(P[i]), float(h[i]), float(s[i]))
    return out


def _solve(isentropes, pressure, back_pressure):
    """(flux, throat pressure, choked) arrays."""
    back = not_negative(back_pressure=back_pressure)
    P = np.asarray(pressure)
    refuse(back > P, "back_pressure", back, "is above the relieving pressure: flow would reverse")
    lines, back = np.broadcast_arrays(isentropes, back)
    G, throat, choked = (
        np.full(back.shape, np.nan),
        np.full(back.shape, np.nan),
        np.zeros(back.shape, dtype=bool),
    )
    for i in np.ndindex(back.shape):
        if lines[i] is not None and not np.isnan(back[i]):
            G[i], throat[i], choked[i] = lines[i].throat(float(back[i]))
    return G, throat, choked


def throat(
    fluid, pressure, back_pressure=0.0, temperature=None, quality=None, enthalpy=None
):  # fmt: skip
    """State in the throat of an isentropic nozzle with a real fluid at equilibrium.

    Parameters: fluid, a name of CoolProp or a mixture such as 'Propane[0.6]&n-Butane[0.4]';
    pressure, back_pressure [Pa]; one of temperature [K], quality [-], enthalpy [J/kg, as CoolProp
    counts]; arrays broadcast. Returns `Throat`. Raises InputError as `State` for an inlet outside
    the equation of state, for a back pressure above the inlet's, and where the fluid would expand
    past the triple point or the lowest temperature before it chokes.
    Validity: equilibrium, no slip, no friction. Through a nozzle shorter than about 0.1 m a
    flashing liquid has no time to boil and more passes than this: equilibrium is then the
    conservative flux for sizing a valve (`short_nozzle_flux`), but not for what comes through a
    broken tube or an open valve into the vessel, nor for the reaction force or the outlet line.
    Source: API 520-I (2020), Annex B: direct integration of the isentrope.
    >>> t = throat("Propane", 10e5, quality=0.0)
    >>> round(t.mass_flux), round(t.pressure / 1e5, 2), round(t.quality, 4), t.choked
    (6862, 8.26, 0.0564, True)
    """
    state = _inlet(fluid, pressure, temperature, quality, enthalpy)
    return _throat(_isentropes(state), state.pressure, back_pressure)


def _throat(isentropes, pressure, back_pressure):
    G, P, choked = _solve(isentropes, pressure, back_pressure)
    T, x = np.full(P.shape, np.nan), np.full(P.shape, np.nan)
    lines = np.broadcast_to(isentropes, P.shape)
    for i in np.ndindex(P.shape):
        if not np.isnan(P[i]):
            _, _, T[i], x[i] = lines[i].point(float(P[i]))
    return Throat(*(result(v) for v in (G, P, T, x, choked)))


def mass_flux(
    fluid, pressure, back_pressure=0.0, temperature=None, quality=None, enthalpy=None
):  # fmt: skip
    """Mass flux of a real fluid at equilibrium through an isentropic nozzle.

    Parameters fluid, pressure, back_pressure, temperature, quality, enthalpy as `throat`. Returns
    kg/(m2 s), float or array. Raises InputError as `throat`. Validity: 0.05 % of a 2000 point
    integration of the same isentrope. Source: API 520-I (2020), Annex B.
    >>> round(mass_flux("Water", 10e5, quality=1.0))
    1444
    """
    state = _inlet(fluid, pressure, temperature, quality, enthalpy)
    return result(_solve(_isentropes(state), state.pressure, back_pressure)[0])


def equilibrium_rate_flux(fluid, pressure):
    """Mass flux of saturated liquid by the equilibrium rate model.

    Parameters: fluid, pure; pressure [Pa], number or array. Returns kg/(m2 s):
    h_v/(v_v - v_l)/sqrt(T c_p), what the slope of the vapour pressure gives, 10 to 30 % above
    `mass_flux` of the same inlet. Raises InputError as `State` and `properties.latent_heat`.
    Validity: saturated liquid, flow path 0.1 m and longer. Source: Fauske (1985), from memory.
    >>> round(equilibrium_rate_flux("Water", 40e5))
    22105
    """
    s = State(fluid, pressure, quality=0.0)
    change = np.asarray(s.vapor.specific_volume) - s.specific_volume
    return result(s.latent_heat / change / np.sqrt(s.temperature * s.heat_capacity))


def short_nozzle_flux(fluid, pressure, back_pressure, length):
    """Mass flux of saturated liquid through a nozzle too short for equilibrium.

    Parameters: fluid, pure; pressure, back_pressure [Pa]; length of the flow path [m], 0 to 0.1;
    arrays broadcast. Returns kg/(m2 s): the flux without flashing sqrt(2 rho (P1 - P2)) at length
    0, falling towards `equilibrium_rate_flux` at 0.1 m, its square divided by N = G_e^2/G_l^2 +
    length/0.1 m. Raises InputError for a length above 0.1 m (flashing is then complete) and as
    `equilibrium_rate_flux`. A valve's nozzle of 0.1 m and less passes more than `mass_flux` says:
    the area from equilibrium is on the safe side, a load worked out with it is not.
    Source: Fauske (1985), with a discharge coefficient of 1; from memory.
    >>> round(short_nozzle_flux("Water", 40e5, 11e5, 0.0)), round(short_nozzle_flux("Water", 40e5,
    ...                                                                             11e5, 0.05))
    (68048, 28407)
    """
    P = positive(pressure=pressure)
    back, L = not_negative(back_pressure=back_pressure, length=length)
    refuse(back >= P, "back_pressure", back, "must be below the relieving pressure")
    refuse(L > RELAXATION_LENGTH, "length", L,
           "is above 0.1 m: flashing is complete, take the equilibrium flux")  # fmt: skip
    long = np.asarray(equilibrium_rate_flux(fluid, P))
    none2 = 2.0 * (P - back) * State(fluid, P, quality=0.0).density
    return result(long / np.sqrt(long**2 / none2 + L / RELAXATION_LENGTH))


@dataclass(frozen=True)
class RealFluid:
    """A real fluid at relieving pressure and one of temperature, quality or enthalpy.

    Parameters
    ----------
    fluid : str
        A name that CoolProp knows, or a mixture such as 'Propane[0.6]&n-Butane[0.4]'.
    pressure : float or array, Pa absolute
        At the valve inlet while relieving.
    temperature : float or array, K, optional
    quality : float or array, optional
        Mass fraction of vapour, of a saturated state.
    enthalpy : float or array, J/kg, optional

    Raises
    ------
    InputError
        Without exactly one second value, for an unknown fluid, or a state out of its range.

    Notes
    -----
    Direct integration along the isentrope: API 520-I (2020), Annex B; states by CoolProp. Fields
    broadcast.

    Examples
    --------
    >>> round(RealFluid("Propane", 20e5, quality=1.0).mass_flux(1e5), -2)
    5700.0
    """

    fluid: str
    pressure: Value
    _: KW_ONLY
    temperature: Value | None = None
    quality: Value | None = None
    enthalpy: Value | None = None
    phase = "real fluid"

    def __post_init__(self):
        plausible(pressure=self.state.pressure)

    @cached_property
    def state(self):
        """The inlet as a `State`: density, k, Z, n and the rest."""
        return _inlet(self.fluid, self.pressure, self.temperature, self.quality, self.enthalpy)

    @cached_property
    def _lines(self):
        return _isentropes(self.state)

    @property
    def density(self):
        """Density at the inlet [kg/m3]."""
        return self.state.density

    @property
    def inlet_kind(self):
        """'gas', 'two-phase' or 'liquid': which coefficient of discharge the inlet takes.

        Saturated vapour is gas; saturated liquid is two-phase, as it flashes at once; liquid is
        what lies below the critical temperature and is short of boiling; a fluid above it is gas.
        Raises InputError where arrays hold several kinds: make one stream of each.
        """
        x, T = np.asarray(self.state.quality), np.asarray(self.state.temperature)
        liquid = np.asarray(self.state.is_liquid) & (T < critical_temperature(self.fluid))
        kinds = np.where(x < 1.0, "two-phase", np.where(liquid, "liquid", "gas"))
        found = set(kinds[~np.isnan(T)].flat) or {"gas"}
        if len(found) > 1:
            raise InputError(f"{' and '.join(sorted(found))} inlets in one stream: their Kd differ")
        return str(found.pop())

    @property
    def liquid_inlet(self):
        """True for liquid short of boiling; see `inlet_kind`."""
        return self.inlet_kind == "liquid"

    def throat(self, back_pressure=0.0):
        """State in the throat against a back pressure [Pa]; see `throat`."""
        return _throat(self._lines, self.state.pressure, back_pressure)

    def mass_flux(self, back_pressure=0.0):
        """Mass flux [kg/(m2 s)] against a back pressure [Pa]; see `mass_flux`."""
        return result(_solve(self._lines, self.state.pressure, back_pressure)[0])

    def choked(self, back_pressure=0.0):
        """True where a lower back pressure adds nothing; NaN inputs give False."""
        return result(_solve(self._lines, self.state.pressure, back_pressure)[2])

    def flux_along(self, throat_pressure):
        """Density times velocity [kg/(m2 s)] after expansion to given throat pressures [Pa].

        For drawing: rows of inlets against columns of pressures broadcast as arrays do.
        """
        P = finite(throat_pressure=throat_pressure)
        refuse(P > np.asarray(self.state.pressure), "throat_pressure", P,
               "is above the relieving pressure")  # fmt: skip
        lines, P = np.broadcast_arrays(self._lines, P)
        flux = [np.nan if line is None or np.isnan(p) else line.flux(float(p))
                for line, p in zip(lines.flat, P.flat)]  # fmt: skip
        return result(np.array(flux).reshape(P.shape))

    def _at(self, pressure):
        """Density and enthalpy at pressures on the isentropes; NaN for NaN."""
        lines, P = np.broadcast_arrays(self._lines, np.asarray(pressure))
        rows = [(np.nan, np.nan) if np.isnan(p) else line.point(float(p))[:2]
                for line, p in zip(lines.flat, P.flat)]  # fmt: skip
        return [result(column.reshape(P.shape)) for column in np.array(rows).T]

    def flux_working(self, back_pressure=0.0):
        """The steps from the state to the mass flux, as a `Working`."""
        found, s = self.throat(back_pressure), self.state
        rho_t, h_t = self._at(found.pressure)
        eos = "reference equation of state (CoolProp)"
        return Working([
            step("enthalpy", s.enthalpy, source=eos),
            step("entropy", s.entropy, source=eos),
            step("throat_pressure", found.pressure,
                 source=SOURCE + "; where the flux is highest, not below back pressure"),
            step("throat_density", rho_t, source=eos + ", at throat pressure and entropy"),
            step("throat_enthalpy", h_t, source=eos + ", same point"),
            step("mass_flux", found.mass_flux, "rho_t*sqrt(2*(h - h_t))", SOURCE,
                 throat_density=rho_t, enthalpy=s.enthalpy,
                 throat_enthalpy=h_t),
        ])  # fmt: skip
