"""Two-phase mass flux by the omega method: saturated, two-phase, subcooled and non-flashing inlets.

One fluid model carries all of it: v/v0 = 1 down to the saturation pressure, then
omega (Ps/P - 1) + 1, and G = max over P of sqrt(2 int v dP)/v. A saturated or two-phase inlet has
Ps = P1. The printed forms of the standard are this function's pieces, and they meet: at
Ps = eta_st P1 the low-subcooling critical ratio is eta_s and both fluxes are sqrt(2 rho (P1 - Ps));
at Ps = P1 the subcooled equations are those of a saturated inlet. What does jump at saturation is
the coefficient of discharge (0.65 subcooled, 0.85 two-phase), and with it the area.
"""

import math
from dataclasses import KW_ONLY, dataclass, field

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
    warn_outside,
)
from relieflib.properties import State, critical_pressure
from relieflib.working import Working, step

SOURCE = "API 520-I (2020), Annex C"
TWO_PHASE, SUBCOOLED = SOURCE + ".2.2", SOURCE + ".2.3"


def omega_from_90(specific_volume, specific_volume_90):
    """Omega of a two-phase or saturated inlet, from a flash to 90 % of the inlet pressure.

    Parameters: specific_volume of the whole at the inlet, specific_volume_90 after the flash, an
    isentropic one by preference [m3/kg]; arrays broadcast. Returns float or array [-]. Raises
    InputError unless the volume grows. Validity: any mixture, flashing or not; sources differ by
    2 to 10 % between this form and `omega_from_properties`, most near the critical point.
    Source: API 520-I (2020), Annex C.2.2, equation for omega.
    >>> round(omega_from_90(0.01945, 0.02265), 4)
    1.4807
    """
    v0, v9 = positive(specific_volume=specific_volume, specific_volume_90=specific_volume_90)
    refuse(v9 <= v0, "specific_volume_90", v9, "must be above the inlet volume: nothing expands")
    return result(9.0 * (v9 / v0 - 1.0))


def omega_subcooled(liquid_density, density_90):
    """Omega of a subcooled liquid, from a flash to 90 % of its saturation pressure.

    Parameters: liquid_density at the inlet, density_90 after the flash [kg/m3]; arrays broadcast.
    Returns float or array [-]. Raises InputError unless the density falls.
    Source: API 520-I (2020), Annex C.2.3, equation for omega_s.
    >>> round(omega_subcooled(511.3, 262.7), 3)
    8.517
    """
    rho, rho9 = positive(liquid_density=liquid_density, density_90=density_90)
    refuse(rho9 >= rho, "density_90", rho9, "must be below the inlet density: nothing flashes")
    return result(9.0 * (rho / rho9 - 1.0))


def omega_from_properties(
    pressure, temperature, quality, specific_volume, vapor_specific_volume,
    specific_volume_change, latent_heat, liquid_heat_capacity,
):  # fmt: skip
    """Omega of a flashing inlet, from its properties.

    Parameters: pressure [Pa] (the saturation pressure for a subcooled liquid), temperature [K],
    quality [-] (0 for liquid), specific_volume of the whole, vapor_specific_volume and
    specific_volume_change, vapour less liquid [m3/kg], latent_heat [J/kg], liquid_heat_capacity
    [J/(kg K)]; arrays broadcast. Returns float or array [-]. Raises InputError for a quality
    outside 0 to 1 or other values not above 0. Validity: one component, or a boiling range below
    83 K, reduced temperature below 0.9 or reduced pressure below 0.5.
    Source: API 520-I 7th edition (2000), Annex D.2.1, kept in the 9th; the vapour term with
    1 - 2 P v/h, from memory.
    >>> round(omega_from_properties(10e5, 453.03, 0.0, 0.0011272, 0.19436, 0.193233, 2.0146e6,
    ...                             4405.0), 2)
    16.29
    """
    P, T, v0, v_v, v_vl, h, c = positive(
        pressure=pressure, temperature=temperature, specific_volume=specific_volume,
        vapor_specific_volume=vapor_specific_volume,
        specific_volume_change=specific_volume_change, latent_heat=latent_heat,
        liquid_heat_capacity=liquid_heat_capacity,
    )  # fmt: skip
    x = not_negative(quality=quality)
    refuse(x > 1.0, "quality", x, "must be 0 to 1, a mass fraction of vapour")
    vapor = x * v_v / v0 * (1.0 - 2.0 * P * v_vl / h)
    return result(vapor + c * T * P / v0 * (v_vl / h) ** 2)


def omega_non_flashing(void_fraction, k):
    """Omega of gas with a liquid that doesn't flash: void fraction over k.

    Parameters: void_fraction, volume fraction of gas at the inlet [-], above 0 up to 1; k, the
    ideal-gas ratio of the gas [-]; arrays broadcast. Returns float or array [-]. Raises InputError
    outside. Source: API 520-I (2020), Annex C; Leung (1996), gas and liquid without heat transfer.
    >>> round(omega_non_flashing(0.8, 1.4), 6)
    0.571429
    """
    alpha, k = positive(void_fraction=void_fraction, k=k)
    refuse(alpha > 1.0, "void_fraction", alpha, "must be above 0 and not above 1")
    refuse(k <= 1.0, "k", k, "must be above 1; take the ideal-gas ratio at relieving temperature")
    return result(alpha / k)


def transition_ratio(omega):
    """Saturation ratio that parts high subcooling (below) from low (above).

    Parameters: omega [-], number or array. Returns float or array [-]. Raises InputError unless
    omega is above 0. Source: API 520-I (2020), Annex C.2.3, eta_st.
    >>> round(transition_ratio(8.515), 4)
    0.9445
    """
    w = positive(omega=omega)
    return result(2.0 * w / (1.0 + 2.0 * w))


def critical_ratio(omega, saturation_ratio=1.0):
    """Ratio of throat to inlet pressure at which the flow chokes.

    Parameters: omega [-]; saturation_ratio Ps/P1 [-], above 0 up to 1, 1 for a saturated or
    two-phase inlet; arrays broadcast. Returns float or array [-]: the saturation ratio itself
    at high subcooling. Raises InputError outside.
    Source: API 520-I (2020), Annex C.2.2 and C.2.3, the implicit equations, solved exactly.
    >>> round(critical_ratio(1.0), 6), critical_ratio(8.515, 0.36)
    (0.606531, 0.36)
    """
    w, eta_s = np.broadcast_arrays(positive(omega=omega), _checked_saturation(saturation_ratio))
    low = eta_s > transition_ratio(w)
    z = _choke(w, np.where(low, eta_s, 1.0))  # guard: 1 stands where z isn't used
    return result(eta_s * np.where(low, z, 1.0) + 0.0 * w)


def _checked_saturation(saturation_ratio):
    eta_s = positive(saturation_ratio=saturation_ratio)
    refuse(eta_s > 1.0, "saturation_ratio", eta_s, "must not be above 1: the liquid would boil")
    return eta_s


def _choke(w, eta_s):
    """Ratio z of throat to saturation pressure, by Newton's method on u = ln z.

    The implicit equations, divided by eta_s, are one: (w-1)^2/(2w) z^2 - 2(w-1) z + w u + 3w/2
    = 1/eta_s. Its slope (w - (w-1) z)^2/w in u is positive and monotonic, so that steps from
    u = 0 can't miss the one root.
    """
    u = np.zeros(np.broadcast(w, eta_s).shape)
    for _ in range(200):
        z = np.exp(u)
        miss = (w - 1.0) ** 2 / (2.0 * w) * z**2 - 2.0 * (w - 1.0) * z + w * u + 1.5 * w
        slope = (w - (w - 1.0) * z) ** 2 / w  # guard: another only takes more steps
        change = (miss - 1.0 / eta_s) / slope
        u = u - change
        if not np.any(np.abs(change) > 1e-14):
            break
    return np.exp(u)


def explicit_critical_ratio(omega):
    """Critical ratio of a saturated or two-phase inlet by the printed fit, to check with.

    Parameters: omega [-], number or array. Returns float or array [-], within 3e-4 of the exact
    ratio for omega 0.1 to 100. Raises InputError unless omega is above 0.
    Source: API 520-I (2020), Annex C.2.2, explicit equation for eta_c.
    >>> round(explicit_critical_ratio(1.482), 4)
    0.6564
    """
    return result(printed_fit(positive(omega=omega)))


def printed_fit(omega, log=np.log):
    """`explicit_critical_ratio` unchecked, for the inside of an integration.

    Parameters: omega [-], above 0; log, that of `math` for a float. Returns as omega [-]. Source:
    as `explicit_critical_ratio`.
    """
    base = 1.0 + (1.0446 - 0.0093431 * omega**0.5) * omega**-0.56261
    return base ** (-0.70356 + 0.014685 * log(omega))


def homogeneous_flux(pressure, specific_volume, omega, pressure_ratio):
    """Mass flux of a boiling or two-phase inlet, for the inside of an integration.

    Parameters: pressure [Pa], specific_volume [m3/kg], omega [-], pressure_ratio, back over inlet
    pressure, above 0 [-]; floats, unchecked. Returns kg/(m2 s). Source: API 520-I (2020), Annex
    C.2.2, with the critical ratio of `printed_fit`.
    >>> round(homogeneous_flux(556.4e3, 0.01945, 1.482, 204.5 / 556.4) / 2884, 3)
    1.0
    """
    r, w = max(pressure_ratio, printed_fit(omega, math.log)), omega
    work = max((w - 1.0) * (r - 1.0) - w * math.log(r), 0.0)
    return math.sqrt(2.0 * pressure / specific_volume * work) / (w * (1.0 / r - 1.0) + 1.0)


def mass_flux(pressure, density, omega, saturation_pressure=None, back_pressure=0.0):
    """Mass flux of a two-phase or subcooled inlet through an isentropic nozzle at equilibrium.

    Parameters: pressure, back_pressure [Pa]; density of the whole at the inlet [kg/m3]; omega
    [-]; saturation_pressure [Pa] of a subcooled liquid, None for a saturated or two-phase inlet;
    arrays broadcast. Returns kg/(m2 s), the choked flux wherever the back pressure lies below the
    critical one. Raises InputError for values not above 0, a saturation or back pressure above the
    inlet pressure. Validity: homogeneous equilibrium; within about 1 % of direct integration for
    saturated liquids up to half the critical pressure, 2 to 3 % near the boundary between high and
    low subcooling. Source: API 520-I (2020), Annex C.2.2 and C.2.3.
    >>> round(mass_flux(556.4e3, 1 / 0.01945, 1.482, back_pressure=204.5e3))
    2884
    """
    P, rho, w = positive(pressure=pressure, density=density, omega=omega)
    back = not_negative(back_pressure=back_pressure)
    refuse(back > P, "back_pressure", back, "is above the relieving pressure: flow would reverse")
    eta_s = _saturation_ratio(P, saturation_pressure)
    r = np.maximum(back / P, critical_ratio(w, eta_s))
    # np.minimum keeps NaN; below saturation y = r/eta_s < 1, above it the liquid doesn't flash
    y = np.minimum(r / eta_s, 1.0)
    work = 1.0 - np.maximum(r, eta_s) + eta_s * ((w - 1.0) * (y - 1.0) - w * np.log(y))
    return result(np.sqrt(2.0 * np.maximum(work, 0.0) * P * rho) / (w * (1.0 / y - 1.0) + 1.0))


def _saturation_ratio(P, saturation_pressure):
    if saturation_pressure is None:
        return np.asarray(1.0)
    Ps = positive(saturation_pressure=saturation_pressure)
    refuse(Ps > P, "saturation_pressure", Ps, "is above the relieving pressure: it boils; give the "
           "density and omega of the mixture, without a saturation pressure")  # fmt: skip
    return Ps / P


@dataclass(frozen=True)
class TwoPhase:
    """Two-phase, saturated or subcooled fluid at the valve inlet.

    Parameters
    ----------
    pressure : float or array, Pa absolute
        At the valve inlet while relieving.
    density : float or array, kg/m3
        Of the mixture at the inlet.
    omega : float or array
        Omega of the mixture; the class methods find it from the 90 % point, from properties, from
        gas with liquid, or from a fluid of CoolProp.
    saturation_pressure : float or array, Pa absolute, optional
        Makes it a subcooled liquid.

    Raises
    ------
    InputError
        For a value not above 0, or a saturation pressure above the relieving pressure.

    Notes
    -----
    API 520-I (2020), Annex C: the omega method. Fields broadcast.

    Examples
    --------
    >>> round(TwoPhase(1e6, 50.0, omega=2.0).mass_flux(1e5))
    3463
    """

    pressure: Value
    density: float
    _: KW_ONLY
    omega: Value
    saturation_pressure: Value | None = None
    origin: tuple = field(default=(), repr=False, compare=False)
    phase = "two-phase"

    def __post_init__(self):
        mass_flux(self.pressure, self.density, self.omega, self.saturation_pressure)
        plausible(pressure=self.pressure)

    @classmethod
    def from_90(cls, pressure, specific_volume, specific_volume_90):
        """A two-phase or saturated inlet, as `omega_from_90`; pressure [Pa]."""
        w = omega_from_90(specific_volume, specific_volume_90)
        line = step("omega", w, "9*(v9/v0 - 1)", TWO_PHASE, specific_volume=specific_volume,
                    specific_volume_90=specific_volume_90)  # fmt: skip
        return cls(pressure, result(1.0 / np.asarray(specific_volume)), omega=w, origin=(line,))

    @classmethod
    def subcooled(cls, pressure, saturation_pressure, liquid_density, density_90):
        """A subcooled liquid, as `omega_subcooled`; pressure, saturation_pressure [Pa]."""
        w = omega_subcooled(liquid_density, density_90)
        line = step("omega", w, "9*(rho_l/rho_9 - 1)", SUBCOOLED, liquid_density=liquid_density,
                    density_90=density_90)  # fmt: skip
        at = dict(saturation_pressure=saturation_pressure, origin=(line,))
        return cls(pressure, liquid_density, omega=w, **at)

    @classmethod
    def from_properties(cls, pressure, specific_volume, saturation_pressure=None, **properties):
        """An inlet as `omega_from_properties`, which takes the `properties` beside these.

        A subcooled liquid has a saturation_pressure [Pa] and no quality.
        """
        P = pressure
        if saturation_pressure is not None:
            if "quality" in properties:
                raise InputError("quality belongs to a two-phase inlet: a subcooled liquid has 0")
            P, properties = saturation_pressure, properties | {"quality": 0.0}
        values = dict(pressure=P, specific_volume=specific_volume) | properties
        line = step("omega", omega_from_properties(**values),
                    "x*v_v0/v0*(1 - 2*P1*v_vl0/h_v) + c_p*T1*P1/v0*(v_vl0/h_v)**2".replace(
                        "P1", "P1" if saturation_pressure is None else "Ps"),
                    "API 520-I 7th edition (2000), Annex D.2.1", **{
                        "saturation_pressure" if n == "pressure" and saturation_pressure is not None
                        else n: v for n, v in values.items()})  # fmt: skip
        density = result(1.0 / np.asarray(specific_volume))
        at = dict(saturation_pressure=saturation_pressure, origin=(line,))
        return cls(pressure, density, omega=line.value, **at)

    @classmethod
    def non_flashing(cls, pressure, density, void_fraction, k):
        """Gas with a liquid that doesn't flash, as `omega_non_flashing`; pressure [Pa], density."""
        w = omega_non_flashing(void_fraction, k)
        line = step("omega", w, "alpha_0/k", SOURCE, void_fraction=void_fraction, k=k)
        return cls(pressure, density, omega=w, origin=(line,))

    @classmethod
    def of_fluid(cls, fluid, pressure, temperature=None, quality=None):
        """A fluid of CoolProp: subcooled at a temperature [K], or saturated at a quality [-].

        Omega from an isentropic flash to 90 % of the inlet pressure; of a subcooled liquid, from
        saturation at its temperature to 90 % of that pressure. Raises InputError
        for a gas or a supercritical fluid, for which there is `RealFluid`; a ValidityWarning above
        half of the critical pressure, where omega drifts from direct integration.
        """
        inlet = start = State(fluid, pressure, temperature, quality)
        Ps = None
        if quality is None:
            if not np.all(inlet.is_liquid | np.isnan(np.asarray(inlet.density))):
                raise InputError(f"{fluid} is no liquid here: use Gas or RealFluid")
            Ps = inlet.saturation_pressure
            start = State(fluid, Ps, quality=0.0)
        boils = np.asarray(inlet.pressure if Ps is None else Ps)
        warn_outside(boils > 0.5 * critical_pressure(fluid), "pressure", boils,
                     "half of the critical pressure: use RealFluid", SOURCE)  # fmt: skip
        v9 = State(fluid, 0.9 * boils, entropy=start.entropy).specific_volume
        if Ps is None:
            return cls.from_90(inlet.pressure, inlet.specific_volume, v9)
        return cls.subcooled(inlet.pressure, Ps, inlet.density, result(1.0 / np.asarray(v9)))

    @property
    def saturation_ratio(self):
        """Saturation over inlet pressure [-]; 1 for a saturated or two-phase inlet."""
        P, _ = np.broadcast_arrays(finite(pressure=self.pressure), 0.0)
        return result(_saturation_ratio(P, self.saturation_pressure) + 0.0 * P)

    @property
    def liquid_inlet(self):
        """True for a subcooled inlet, whose coefficient of discharge is another (0.65 for 0.85).

        Raises InputError where arrays hold both kinds: make two streams.
        """
        ratio = np.asarray(self.saturation_ratio)
        ratio = ratio[~np.isnan(ratio)]
        subcooled = ratio < 1.0
        if subcooled.any() and not subcooled.all():
            raise InputError("subcooled and saturated inlets in one stream: their Kd differ")
        return bool(subcooled.any())

    def critical_ratio(self):
        """Ratio of throat to inlet pressure at choking [-]; see `critical_ratio`."""
        return critical_ratio(self.omega, self.saturation_ratio)

    def mass_flux(self, back_pressure=0.0):
        """Mass flux [kg/(m2 s)] against a back pressure [Pa]; see `mass_flux`."""
        return mass_flux(
            self.pressure, self.density, self.omega, self.saturation_pressure, back_pressure
        )

    def choked(self, back_pressure=0.0):
        """True where the throat is at the critical pressure; NaN inputs give False."""
        limit = self.critical_ratio() * finite(pressure=self.pressure)
        return result(finite(back_pressure=back_pressure) <= limit)

    def flux_working(self, back_pressure=0.0):
        """The steps from the state to the mass flux, as a `Working`."""
        r_c, G = self.critical_ratio(), self.mass_flux(back_pressure)
        r = result(np.maximum(np.asarray(back_pressure) / self.pressure, r_c))
        state = dict(pressure=self.pressure, density=self.density, omega=self.omega,
                     pressure_ratio=r)  # fmt: skip
        ratio = step("pressure_ratio", r, "max(P2/P1, r_c)", "choked where P2/P1 is below r_c",
                     back_pressure=back_pressure, pressure=self.pressure,
                     critical_ratio=r_c)  # fmt: skip
        given = self.origin or (step("omega", self.omega, source="given"),)
        if self.saturation_pressure is None:
            return Working([*given, *_choke_steps(self.omega, 1.0, r_c, TWO_PHASE), ratio, step(
                "mass_flux", G,
                "sqrt(2*P1*rho*((omega - 1)*(r - 1) - omega*ln(r)))/(omega*(1/r - 1) + 1)",
                TWO_PHASE, **state)])  # fmt: skip
        eta_s = self.saturation_ratio
        return Working([
            *given,
            step("saturation_ratio", eta_s, "Ps/P1", SUBCOOLED, pressure=self.pressure,
                 saturation_pressure=self.saturation_pressure),
            step("transition_ratio", transition_ratio(self.omega), "2*omega/(1 + 2*omega)",
                 SUBCOOLED + ": low subcooling where eta_s is above it", omega=self.omega),
            *_choke_steps(self.omega, eta_s, r_c, SUBCOOLED), ratio,
            step("mass_flux", G,
                 "sqrt(2*P1*rho*(1 - max(r, eta_s) + eta_s*((omega - 1)*(min(r/eta_s, 1) - 1)"
                 " - omega*ln(min(r/eta_s, 1)))))/(omega*(1/min(r/eta_s, 1) - 1) + 1)",
                 SUBCOOLED, saturation_ratio=eta_s, **state),
        ])  # fmt: skip


def _choke_steps(omega, eta_s, r_c, source):
    """The critical ratio, with the equation that it satisfies solved for itself."""
    if np.all(np.asarray(eta_s) <= transition_ratio(omega)):
        return [step("critical_ratio", r_c, "eta_s", source + ", high subcooling: chokes where it "
                     "begins to boil", saturation_ratio=eta_s)]  # fmt: skip
    if np.any(np.asarray(eta_s) <= transition_ratio(omega)):
        return [step("critical_ratio", r_c, source=source + ", high and low subcooling")]
    saturated = np.ndim(eta_s) == 0 and eta_s == 1.0
    equation = ("eta_s*exp((1/eta_s - 1.5*omega + 2*(omega - 1)*r_c/eta_s"
                " - (omega - 1)**2/(2*omega)*(r_c/eta_s)**2)/omega)")  # fmt: skip
    inputs = dict(omega=omega, critical_ratio=r_c)
    if saturated:
        equation = (
            "exp((1 - 1.5*omega + 2*(omega - 1)*r_c - (omega - 1)**2/(2*omega)*r_c**2)/omega)"
        )
    else:
        inputs["saturation_ratio"] = eta_s
    return [step("critical_ratio", r_c, equation, source + ": found by trial, the equation gives "
                 "it back", **inputs)]  # fmt: skip
