"""From load and device to required area, and from area to rated flow: area = W/(Kd Kb Kc G)."""

from dataclasses import KW_ONLY, dataclass, field, replace
from functools import cached_property

import numpy as np

from relieflib.devices import Device, uncertified_Kp
from relieflib.errors import (
    InputError,
    Value,
    not_negative,
    plausible,
    positive,
    refuse,
    result,
    some,
)
from relieflib.nozzle import liquid as liquid_nozzle
from relieflib.orifices import LARGEST, LETTERS, next_area, select_letter, usual_designation
from relieflib.working import Working, step

AREA_SOURCE = {
    "gas": "API 520-I (2020), 5.6", "steam": "API 520-I (2020), 5.7",
    "liquid": "API 520-I (2020), 5.8", "two-phase": "API 520-I (2020), Annex C",
    "real fluid": "API 520-I (2020), Annex B", "subcooled": "API 520-I (2020), Annex C",
}  # fmt: skip
KV_SOURCE = {
    10: "API 520-I 10th edition (2020), 5.8", 9: "API 520-I 9th edition, 5.8",
    7: "API 520-I 7th edition, 3.8",
}  # fmt: skip
KV_EQUATION = {10: "(1 + 170/Re)**-0.5"}
KV_EQUATION |= dict.fromkeys((7, 9), "1/(0.9935 + 2.878/Re**0.5 + 342.75/Re**1.5)")

TINY = float(np.finfo(float).tiny)  # m2 or kg/s, in place of nothing


@dataclass(frozen=True)
class ReliefLoad:
    """What must leave in one cause of overpressure.

    Parameters
    ----------
    cause : str
        Name of the cause, as its module.
    mass_flow : float or array, kg/s
    stream : Gas, Steam, Liquid, TwoPhase or RealFluid
        At relieving conditions.
    fire : bool, optional
        True for exterior fire, for which the code allows more accumulation; said by the cause's
        module, never read from words.
    dry_wall : bool, optional
        True for a fire on a wall that no liquid cools.
    working : Working, optional
        Steps that led to the flow.

    Raises
    ------
    InputError
        For a negative or infinite flow, what is no stream, or a dry wall without a fire; a flow
        that is not plausible gives a `ValidityWarning`.

    Examples
    --------
    >>> from relieflib.nozzle.gas import Gas
    >>> gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    >>> ReliefLoad("closed_outlet", 24270 / 3600, gas).cause
    'closed_outlet'
    """

    cause: str
    mass_flow: Value
    stream: object
    _: KW_ONLY
    working: Working = field(default_factory=Working)
    fire: bool = False
    dry_wall: bool = False

    def __post_init__(self):
        plausible(mass_flow=not_negative(mass_flow=self.mass_flow))
        if self.stream is not None and not hasattr(self.stream, "flux_working"):
            raise InputError(
                f"stream = {self.stream!r}: must be a Gas, Steam, Liquid, TwoPhase or RealFluid"
            )
        if self.dry_wall and not self.fire:
            raise InputError("dry_wall belongs to an exterior fire: say fire=True")


@dataclass(frozen=True)
class Sizing:
    """What `size` finds; arrays where the load holds arrays.

    Attributes
    ----------
    required_area : float or array, m2
    mass_flux : float or array, kg/(m2 s)
        Through the ideal nozzle.
    factors : dict
        Kd, Kb, Kw, Kc, Kv and the like by name.
    back_pressure : float or array, Pa absolute
    letter, designation : str
        Smallest that suffices, such as 'P' and '4P6'; None where one valve is not enough.
    area, used, rated_flow : float or array
        Of that letter: m2, required over chosen, kg/s.
    working : Working
        Every step with its equation and source.
    """

    load: ReliefLoad
    device: Device
    back_pressure: Value
    mass_flux: float
    factors: dict
    required_area: Value
    edition: int = 10
    reynolds: Value | None = None

    @cached_property
    def regime(self):
        """'choked' or 'subcritical' (gas, two-phase), 'liquid' for liquid; array for arrays."""
        if self.load.stream.phase == "liquid":
            return "liquid"
        words = np.where(self.load.stream.choked(self.back_pressure), "choked", "subcritical")
        return words.item() if words.ndim == 0 else words

    @cached_property
    def letter(self):
        """Smallest sufficient orifice letter, None where one valve is not enough.

        A rupture disk alone has no letter: None.
        """
        if self.device.kind == "disk":
            return None
        return select_letter(_some_area(self.required_area))

    @cached_property
    def designation(self):
        """Smallest standard inlet, letter, outlet such as '4P6'; None as `letter`."""
        if np.ndim(self.letter):
            return np.array(
                [n and str(usual_designation(n)) for n in self.letter.flat], dtype=object
            ).reshape(self.letter.shape)
        return self.letter and str(usual_designation(self.letter))

    @cached_property
    def area(self):
        """Area of the letter [m2]; of T where T is too small; NaN for a disk alone."""
        if self.device.kind == "disk":
            return float("nan")
        return next_area(_some_area(self.required_area))

    @cached_property
    def used(self):
        """Required area over the letter's area [-]; above 1 where T is too small."""
        return result(np.asarray(self.required_area) / self.area)

    @cached_property
    def rated_flow(self):
        """Flow the letter's area passes at the same conditions [kg/s]."""
        return self.flow_through(self.area)

    def flow_through(self, area):
        """Flow that another area passes at the same conditions [kg/s], as `rated_flow`."""
        if self.reynolds is not None:  # Kv is another one in another area
            bare = positive(area=area) * _product(_thin(self.factors)) * self.mass_flux
            return _viscous_flow(bare, area, self.load.stream.viscosity, self.edition)
        return result(positive(area=area) * _product(self.factors) * self.mass_flux)

    def with_flow(self, mass_flow):
        """The same stream and device for another load [kg/s], as `size` finds it."""
        load = replace(self.load, mass_flow=mass_flow)
        return _sized(load, self.device, self.back_pressure, self.edition, self.mass_flux,
                      _thin(self.factors))  # fmt: skip

    @cached_property
    def working(self):
        """All steps: load, flux, factors, area, letter, rated flow."""
        return Working([*self.load.working, *_flux_steps(self), *_area_steps(self)])


def _some_area(area):
    """An area above 0, for a letter, where nothing is needed too."""
    return area if isinstance(area, float) and area >= TINY else result(np.maximum(area, TINY))


_REAL = {"gas": "real fluid", "two-phase": "two-phase", "liquid": "subcooled"}


def _kind_of(stream):
    """Phase under which the standard lists Kd and the area equation."""
    if stream.phase == "real fluid":
        return _REAL[stream.inlet_kind]
    if stream.phase == "two-phase" and np.all(getattr(stream, "liquid_inlet", False)):
        return "subcooled"
    return stream.phase


def _uncertified(stream, device):
    return stream.phase == "liquid" and not device.certified and device.kind != "disk"


def _Kb_carries_all(stream, device):
    """True for a balanced valve in an ideal gas: choked flux, the back pressure is all in Kb."""
    return device.kind == "balanced" and stream.phase == "gas"


def ideal_flux(stream, device, back_pressure):
    """Mass flux of the stream before the device's factors, as the device's equation takes it.

    Parameters: stream; device; back_pressure [Pa]. Returns kg/(m2 s). A balanced valve in an ideal
    gas is sized with the choked flux, and Kb carries the back pressure; in all else the back
    pressure drives the flow wherever it stands above that of choking, and Kb or Kw is the lift it
    costs: the careful side. A liquid valve without certified capacity takes 1.25 times set
    pressure. Raises InputError as the stream does.
    Source: API 520-I (2020), 5.3, 5.6 to 5.9, Annex C.
    """
    if _Kb_carries_all(stream, device):
        back = not_negative(back_pressure=back_pressure)
        refuse(back > stream.pressure, "back_pressure", back,
               "is above the relieving pressure: flow would reverse")  # fmt: skip
        return result(stream.mass_flux(0.0) + 0.0 * back)
    if _uncertified(stream, device):
        return liquid_nozzle.mass_flux(
            1.25 * device._set() + device.atmosphere, stream.density, back_pressure
        )
    return stream.mass_flux(back_pressure)


def _factors(stream, device, back_pressure):
    kind = _kind_of(stream)
    Kb, Kw = device.back_pressure_factors(kind, stream.pressure, back_pressure)
    Kd, Kc = device.discharge_coefficient(kind), device.Kc
    factors = {"Kd": Kd, "Kb": Kb, "Kc": Kc}
    if kind == "subcooled":
        factors = {"Kd": Kd, "Kw": Kw, "Kc": Kc}
    if kind == "liquid":
        factors = {"Kd": Kd, "Kw": Kw, "Kc": Kc, "Kv": 1.0}
        if _uncertified(stream, device):
            factors["Kp"] = uncertified_Kp(device.overpressure_fraction(stream.pressure))
    return factors


def _thin(factors):
    """Factors of a valve as for a thin liquid, with Kv 1."""
    return {name: 1.0 if name == "Kv" else value for name, value in factors.items()}


def _product(factors):
    total = 1.0
    for value in factors.values():
        total = total * value
    return total


def size(
    load: ReliefLoad, device: Device | None = None, back_pressure: Value | None = None,
    edition: int = 10,
) -> Sizing:  # fmt: skip
    """Area that a device needs for a load.

    Parameters
    ----------
    load : ReliefLoad
        May hold arrays.
    device : Device, optional
        A conventional valve by default.
    back_pressure : float or array, Pa absolute, optional
        Total at the valve outlet; the device's atmosphere by default.
    edition : int, optional
        Edition of API 520-I for Kv: 7, 9 or 10; a steam's own must be the same.

    Returns
    -------
    Sizing

    Raises
    ------
    InputError
        As stream and device do; where back pressure leaves no flow.

    Notes
    -----
    Area = W/(Kd Kb Kc G), liquid with Kw and Kv: API 520-I (2020), 5.6 to 5.11, Annexes B and C. A
    viscous liquid takes its Reynolds number from the trial orifice: the letter without viscosity,
    then the next one up while it is too small.

    Examples
    --------
    >>> from relieflib.nozzle.gas import Gas
    >>> gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    >>> s = size(ReliefLoad("closed_outlet", 24270 / 3600, gas))
    >>> round(s.required_area * 1e6), s.letter, s.designation, s.regime
    (3699, 'P', '4P6', 'choked')
    """
    if not isinstance(load, ReliefLoad):
        raise InputError(f"load = {load!r}: must be a ReliefLoad")
    device = Device() if device is None else device
    _check(load.stream, device, edition)
    if load.stream is None:
        raise InputError(f"stream of {load.cause}: needed to size a device")
    back = device.atmosphere if back_pressure is None else back_pressure
    flux = ideal_flux(load.stream, device, back)
    factors = _factors(load.stream, device, back)
    refuse(np.asarray(flux) == 0, "back_pressure", back, "equals the relieving pressure: no flow")
    return _sized(load, device, back, edition, flux, factors)


def _sized(load, device, back, edition, flux, factors):
    """`Sizing` of a load by the flux of its stream and the device's factors, Kv still 1."""
    W, stream = load.mass_flow, load.stream
    W = np.float64(W) if isinstance(W, float) else np.asarray(W, dtype=float)
    area = W / (_product(factors) * flux)
    viscosity, Re = getattr(stream, "viscosity", None), None
    if viscosity is not None and stream.phase == "liquid":
        Re = _trial_reynolds(area, W, viscosity, edition)
        factors["Kv"] = liquid_nozzle.viscosity_factor(Re, edition)
        area = area / factors["Kv"]
    return Sizing(load, device, back, flux, factors, result(area), edition, Re)


def _check(stream, device, edition):
    """Refuse what is no device, an edition that is not held, or two editions in one sizing."""
    if not isinstance(device, Device):
        raise InputError(f"device = {device!r}: must be a Device, such as Device('conventional')")
    if type(edition) is not int or edition not in KV_SOURCE:
        raise InputError(f"edition = {edition!r}: API 520-I is held in its editions 7, 9 and 10")
    own = getattr(stream, "edition", edition)
    if own != edition:
        raise InputError(
            f"edition = {edition!r} of the sizing, {own!r} of the steam, whose KSH "
            "follows its own: give both the same"
        )


def _trial_reynolds(area, W, viscosity, edition):
    """Re in the trial orifice; where T is too small, in T with the load shared by valves of T."""
    largest = LETTERS[LARGEST]
    trial = next_area(_some_area(area))
    valves = np.maximum(np.ceil(area / largest), 1.0)
    flow = np.maximum(W / valves, TINY)
    for _ in LETTERS:
        Re = liquid_nozzle.reynolds(flow, trial, viscosity)
        Kv = liquid_nozzle.viscosity_factor(Re, edition)
        small = (area / Kv > trial * (1 + 1e-9)) & (trial < largest)
        if not some(small):
            break
        trial = result(np.where(small, next_area(trial * (1 + 1e-6)), trial))
    return result(Re)


def rated_flow(
    stream: object, device: Device, area: Value, back_pressure: Value | None = None,
    edition: int = 10,
) -> Value:  # fmt: skip
    """Mass flow that an area passes: the inverse of `size`.

    Parameters
    ----------
    stream : Gas, Steam, Liquid, TwoPhase or RealFluid
    device : Device
    area : float or array, m2
    back_pressure : float or array, Pa absolute, optional
        The device's atmosphere by default.
    edition : int, optional
        Edition of API 520-I for Kv.

    Returns
    -------
    float or array, kg/s

    Raises
    ------
    InputError
        As `size`.

    Notes
    -----
    API 520-I (2020), 5.6 to 5.11, solved for W.

    Examples
    --------
    >>> from relieflib.nozzle.gas import Gas
    >>> gas = Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.90)
    >>> round(rated_flow(gas, Device(), 4116.1e-6) * 3600)
    27007
    """
    area = positive(area=area)
    _check(stream, device, edition)
    back = device.atmosphere if back_pressure is None else back_pressure
    flow = area * _product(_factors(stream, device, back)) * ideal_flux(stream, device, back)
    viscosity = getattr(stream, "viscosity", None)
    if viscosity is None or stream.phase != "liquid":
        return result(flow)
    return _viscous_flow(flow, area, viscosity, edition)


def _viscous_flow(flow, area, viscosity, edition):
    """The flow through an area of a liquid of which it would pass `flow` if it were thin."""
    thin = liquid_nozzle.reynolds(np.maximum(flow, TINY), area, viscosity)
    return result(flow * liquid_nozzle.viscosity_factor_of_thin(thin, edition))


def _flux_steps(sizing):
    stream, device, back = sizing.load.stream, sizing.device, sizing.back_pressure
    if _uncertified(stream, device):
        return [
            step(
                "mass_flux",
                sizing.mass_flux,
                "sqrt(2*rho*(1.25*pset + Patm - P2))",
                "API 520-I (2020), 5.9",
                density=stream.density,
                back_pressure=back,
                set_pressure_gauge=device.set_pressure_gauge,
                atmosphere=device.atmosphere,
            )
        ]
    if _Kb_carries_all(stream, device):
        return [_choked_by_choice(line) for line in stream.flux_working(0.0)]
    return stream.flux_working(back)


def _choked_by_choice(line):
    """The pressure ratio of a balanced valve in gas: no back pressure enters it."""
    if line.name != "pressure_ratio":
        return line
    r_c = line.inputs["critical_ratio"]
    return step("pressure_ratio", r_c, "r_c", "balanced valve: the choked flux whatever the back "
                "pressure, which is all in Kb; API 520-I (2020), 5.6",
                critical_ratio=r_c)  # fmt: skip


def _chosen_by(letter):
    """Source of the chosen area; where T is too small, it is still the one the steps go on with."""
    small = letter is None or (np.ndim(letter) and any(one is None for one in np.ravel(letter)))
    return "API 526, table 1: next letter up" + (", T where none is large enough" if small else "")


def _factor_steps(sizing):
    """Each factor with its source, and where a curve was read."""
    stream, device, factors = sizing.load.stream, sizing.device, sizing.factors
    kind = _kind_of(stream)
    read = device.curve_steps(kind, stream.pressure, sizing.back_pressure)
    if "Kp" in factors:
        read = [*read, device.overpressure_step(stream.pressure)]
    sources = device.factor_sources(kind)
    steps = [step(name, factors[name], source=sources[name]) for name in factors if name != "Kv"]
    return [*read, *steps, *_viscosity_steps(sizing)]


def _viscosity_steps(sizing):
    if "Kv" not in sizing.factors:
        return []
    Kv, source = sizing.factors["Kv"], KV_SOURCE[sizing.edition]
    if sizing.reynolds is None:
        return [step("Kv", Kv, source="1: no viscosity given, taken as thin; " + source)]
    return [
        step("reynolds", sizing.reynolds, source="4 W/(pi D mu) in the trial orifice; " + source),
        step("Kv", Kv, KV_EQUATION[sizing.edition], source, reynolds=sizing.reynolds),
    ]


def _area_steps(sizing):
    source = AREA_SOURCE[_kind_of(sizing.load.stream)]
    steps = _factor_steps(sizing)
    product = "*".join(sizing.factors)
    steps.append(
        step(
            "required_area",
            sizing.required_area,
            f"W/({product}*G)",
            source,
            mass_flow=sizing.load.mass_flow,
            mass_flux=sizing.mass_flux,
            **sizing.factors,
        )
    )
    if sizing.device.kind != "disk":
        steps += [
            step("area", sizing.area, source=_chosen_by(sizing.letter)),
            step(
                "used",
                sizing.used,
                "A/Ao",
                "required over chosen area",
                required_area=sizing.required_area,
                area=sizing.area,
            ),
            step("rated_flow", sizing.rated_flow, source=source + ", solved for W"),
        ]
    return steps
