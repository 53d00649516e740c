"""Knock-out drum: do droplets fall out, does the liquid find room, and for how long.

Gas crosses the drum while droplets fall: in a horizontal drum from the top to the liquid, in a
vertical one against the rising gas. Liquid that stays takes the space the gas needs, so each event
is judged above its own liquid, and the largest vapour event above the largest liquid event too.
The drag chart of the standard is not used. The reading it prints, C 1.3 at C Re^2 5025, lies below
every equation for a sphere (1.33 to 1.43): by it droplets seem to fall 2 to 5 % too fast.
"""

from dataclasses import KW_ONLY, dataclass, field

import numpy as np

from relieflib import rules
from relieflib.disposal.finding import Finding, about, found, worst, wrapped
from relieflib.errors import InputError, not_negative, positive, refuse, result, warn_outside
from relieflib.geometry import Vessel
from relieflib.orifices import COLDEST_CARBON_STEEL
from relieflib.units import ATMOSPHERE, GRAVITY, ICE_POINT
from relieflib.valve_questions import kept
from relieflib.working import Working, step

SOURCE = "API 521 (2020), knock-out drums (2007: 7.3.2.1)"
DRAG = "Haider and Levenspiel, Powder Technol. 58 (1989) 63"
LIFTING = "Ishii and Grolmes, AIChE J. 21 (1975) 308, rough turbulent film, from memory"
_HIGHEST_RE = 2.6e5  # the drag of a sphere drops suddenly beyond
_BEST_HEIGHT = 0.769  # of the diameter: here a vapour space needs the shortest drum
_SHARE = 1.0 - 1e-12  # guard: a full drum has no vapour space


def drag_coefficient(droplet_reynolds):
    """Drag coefficient of a sphere.

    Parameters: droplet_reynolds [-], above 0, number or array. Returns float or array [-]. Raises
    InputError for values not above 0. Validity: up to 2.6e5 (above: ValidityWarning); a drop below
    1 mm in gas stays nearly round. Source: Haider and Levenspiel (1989).
    >>> round(drag_coefficient(100.0), 3), round(drag_coefficient(1e-4) * 1e-4, 2)
    (1.095, 24.01)
    """
    Re = positive(droplet_reynolds=droplet_reynolds)
    warn_outside(Re > _HIGHEST_RE, "droplet_reynolds", Re, "up to 2.6e5", DRAG)
    return result(_drag(Re))


def _drag(Re):
    return 24.0 / Re * (1.0 + 0.1806 * Re**0.6459) + 0.4251 / (1.0 + 6880.95 / Re)


def drag_group(droplet_diameter, liquid_density, vapor_density, vapor_viscosity):
    """Drag coefficient times the square of the Reynolds number of a falling droplet.

    Parameters: droplet_diameter [m]; liquid_density, vapor_density [kg/m3]; vapor_viscosity
    [Pa s]; arrays broadcast. Returns float or array [-]. Raises InputError for values not above 0
    or a vapour as dense as the liquid. Source: weight against drag of a sphere, 4/3 g; API 521
    (2020) prints 0.13e8 with cP, which is 0.6 % less than 4/3 of 9.80665.
    >>> round(drag_group(300e-6, 496.6, 2.9, 1e-5))
    5055
    """
    d, rho_l, rho_v, mu = positive(
        droplet_diameter=droplet_diameter, liquid_density=liquid_density,
        vapor_density=vapor_density, vapor_viscosity=vapor_viscosity,
    )  # fmt: skip
    refuse(rho_v >= rho_l, "vapor_density", rho_v, "must be below that of the liquid")
    return result(4.0 / 3.0 * GRAVITY * rho_v * d**3 * (rho_l - rho_v) / mu**2)


def settling_velocity(droplet_diameter, liquid_density, vapor_density, vapor_viscosity):
    """Velocity at which a droplet falls through still gas.

    Parameters, errors: as `drag_group`. Returns m/s. Validity: a single round droplet, as
    `drag_coefficient`. Source: balance of weight and drag; Haider and Levenspiel (1989).
    >>> round(settling_velocity(300e-6, 496.6, 2.9, 1e-5), 3)
    0.684
    """
    group = np.asarray(drag_group(droplet_diameter, liquid_density, vapor_density, vapor_viscosity))
    scale = np.asarray(vapor_viscosity) / np.asarray(vapor_density) / np.asarray(droplet_diameter)
    return result(_reynolds_of(group) * scale)


def _reynolds_of(group):
    """Reynolds number of a drag group: bisection of ln Re, for C Re^2 rises with Re."""
    low = np.full(np.shape(group), -60.0)
    high = np.log(np.asarray(group) / 24.0)  # Stokes: no droplet falls faster
    for _ in range(70):
        middle = 0.5 * (low + high)
        Re = np.exp(middle)
        more = _drag(Re) * Re**2 > group
        low, high = np.where(more, low, middle), np.where(more, middle, high)
    return np.exp(0.5 * (low + high))


def droplet_of(settling_velocity, liquid_density, vapor_density, vapor_viscosity):
    """Diameter of the droplet that falls at a velocity, the inverse of `settling_velocity`.

    Parameters: settling_velocity [m/s]; liquid_density, vapor_density [kg/m3]; vapor_viscosity
    [Pa s]; arrays broadcast. Returns m. Raises InputError as `drag_group`. Source: as it.
    >>> round(1e6 * droplet_of(0.68417, 496.6, 2.9, 1e-5))
    300
    """
    U, rho_l, rho_v, mu = positive(
        settling_velocity=settling_velocity, liquid_density=liquid_density,
        vapor_density=vapor_density, vapor_viscosity=vapor_viscosity,
    )  # fmt: skip
    refuse(rho_v >= rho_l, "vapor_density", rho_v, "must be below that of the liquid")
    low = np.full(np.broadcast(U, rho_l, rho_v, mu).shape, -30.0)
    high = np.full(low.shape, 5.0)
    for _ in range(60):
        middle = 0.5 * (low + high)
        d = np.exp(middle)
        Re = U * d * rho_v / mu
        heavier = 4.0 / 3.0 * GRAVITY * d * (rho_l - rho_v) > _drag(Re) * rho_v * U**2
        low, high = np.where(heavier, low, middle), np.where(heavier, middle, high)
    return result(np.where(np.isnan(U + rho_l + rho_v + mu), np.nan, np.exp(high)))


def lifting_velocity(liquid_density, vapor_density, liquid_viscosity, surface_tension):
    """Velocity of gas along a liquid above which it tears droplets off the surface.

    Parameters: liquid_density, vapor_density [kg/m3]; liquid_viscosity [Pa s]; surface_tension
    [N/m]; arrays broadcast. Returns m/s. Raises InputError for values not above 0 or a vapour as
    dense as the liquid. Validity: turbulent film (liquid Reynolds number above 1635), the lowest
    of the limits. Source: Ishii and Grolmes, AIChE J. 21 (1975) 308, from memory.
    >>> round(lifting_velocity(496.6, 2.9, 2e-4, 0.010), 1)
    5.2
    """
    rho_l, rho_v, mu, sigma = positive(
        liquid_density=liquid_density, vapor_density=vapor_density,
        liquid_viscosity=liquid_viscosity, surface_tension=surface_tension,
    )  # fmt: skip
    refuse(rho_v >= rho_l, "vapor_density", rho_v, "must be below that of the liquid")
    N = mu / np.sqrt(rho_l * sigma * np.sqrt(sigma / (GRAVITY * (rho_l - rho_v))))
    return result(sigma / mu * np.sqrt(rho_l / rho_v) * np.minimum(N, 1.0 / 15.0) ** 0.8)


# ---- what comes, and into what


@dataclass(frozen=True)
class Arrival:
    """What one event sends to the drum: vapour with its droplets, and liquid.

    vapor_flow, liquid_inflow [kg/s], 0 where there is none; vapor_density at the drum's pressure
    [kg/m3], vapor_viscosity [Pa s], liquid_density [kg/m3]; liquid_mass, the most that can come in
    the whole event [kg], None where there is no end to it; temperature in the drum [K], None where
    not known; liquid_viscosity [Pa s] and surface_tension [N/m], None where not known: then whether
    gas lifts liquid off the surface isn't either. Arrays broadcast. Raises InputError for values
    that can't be.
    >>> Arrival("example", 21.3, 3.9, vapor_density=2.9, liquid_density=496.6,
    ...         vapor_viscosity=1e-5).volume_flow > 7.3
    True
    """

    name: str
    vapor_flow: float
    liquid_inflow: float
    _: KW_ONLY
    vapor_density: float
    liquid_density: float
    vapor_viscosity: float
    liquid_mass: float | None = None
    temperature: float | None = None
    liquid_viscosity: float | None = None
    surface_tension: float | None = None

    def __post_init__(self):
        not_negative(vapor_flow=self.vapor_flow, liquid_inflow=self.liquid_inflow)
        rho_v, rho_l, _ = positive(
            vapor_density=self.vapor_density, liquid_density=self.liquid_density,
            vapor_viscosity=self.vapor_viscosity,
        )  # fmt: skip
        refuse(rho_v >= rho_l, "vapor_density", rho_v, "must be below that of the liquid")
        if self.liquid_mass is not None:
            not_negative(liquid_mass=self.liquid_mass)
        if (self.liquid_viscosity is None) != (self.surface_tension is None):
            raise InputError("liquid_viscosity and surface_tension: give both or none")

    @property
    def volume_flow(self):
        """Volume flow of the vapour [m3/s]."""
        return result(np.asarray(self.vapor_flow) / np.asarray(self.vapor_density))

    @property
    def liquid_volume_flow(self):
        """Volume flow of the liquid [m3/s]."""
        return result(np.asarray(self.liquid_inflow) / np.asarray(self.liquid_density))

    def liquid_after(self, time):
        """Liquid that has come after a time [s] from the start, in m3."""
        V = np.asarray(self.liquid_volume_flow) * time
        if self.liquid_mass is not None:
            V = np.minimum(V, np.asarray(self.liquid_mass) / np.asarray(self.liquid_density))
        return result(V)

    def falls_at(self, droplet_diameter):
        """Velocity at which its droplets of a diameter [m] fall [m/s]."""
        return settling_velocity(
            droplet_diameter, self.liquid_density, self.vapor_density, self.vapor_viscosity
        )


@dataclass(frozen=True)
class Drum:
    """A knock-out drum.

    orientation 'horizontal' or 'vertical'; diameter, inside, and length between tangent lines [m];
    head_type as `Vessel`, 'flat' leaves the heads out, as the standard's example does; passes, 2
    where gas comes in at both ends and leaves in the middle, or the other way round (horizontal
    only); slops, liquid not yet pumped out when the event begins [m3]; hold_up_time, how long the
    liquid of an event must find room [s]; droplet_diameter to be caught [m]; inlet_height, lowest
    point of the inlet above the bottom of a horizontal shell or the lower tangent line [m];
    design_pressure_gauge [Pa gauge]; lowest_temperature its metal is made for [K]; pump_flow of
    its pump [m3/s]; None where not known. Raises InputError for values that can't be.
    >>> Drum("horizontal", 2.4384, length=5.7912, slops=1.893).passes
    1
    """

    orientation: str
    diameter: float
    _: KW_ONLY
    length: float
    head_type: str = "flat"
    passes: int = 1
    slops: float = 0.0
    hold_up_time: float = rules.HOLD_UP_LEAST.value
    droplet_diameter: float = rules.DROPLET_SMALL.value
    inlet_height: float | None = None
    design_pressure_gauge: float | None = None
    lowest_temperature: float | None = None
    pump_flow: float | None = None
    atmosphere: float = ATMOSPHERE

    def __post_init__(self):
        if self.orientation not in ("horizontal", "vertical"):
            raise InputError(f"orientation '{self.orientation}': use horizontal or vertical")
        if self.passes not in (1, 2):
            raise InputError(f"passes = {self.passes!r}: 1 or 2")
        if self.passes == 2 and self.orientation == "vertical":
            raise InputError("passes = 2: a vertical drum has one")
        not_negative(slops=self.slops, hold_up_time=self.hold_up_time)
        positive(droplet_diameter=self.droplet_diameter, atmosphere=self.atmosphere)
        for name in ("inlet_height", "lowest_temperature", "pump_flow", "design_pressure_gauge"):
            if getattr(self, name) is not None:
                positive(**{name: getattr(self, name)})
        _ = self.vessel

    @property
    def vessel(self):
        """Its shell as `geometry.Vessel`."""
        return Vessel(self.orientation, self.diameter, length=self.length, head_type=self.head_type)

    @property
    def section(self):
        """Whole cross-section [m2]."""
        return result(0.25 * np.pi * np.square(np.asarray(self.diameter, dtype=float)))

    def level(self, liquid_volume):
        """Level of a volume of liquid [m]; the top of the shell where it is more than fits."""
        V, whole = np.asarray(liquid_volume, dtype=float), np.asarray(self.vessel.volume)
        return self.vessel.level_of(result(np.fmin(V, whole) + 0.0 * V))

    def held(self, arrival):
        """Liquid at the end of the hold-up time [m3]: slops and what came."""
        return result(self.slops + np.asarray(arrival.liquid_after(self.hold_up_time)))


# ---- do the droplets fall out


@dataclass(frozen=True)
class Separation:
    """Droplets of one arrival in a drum above one level.

    level of the liquid and vapor_height above it [m]; vapor_area that the gas crosses [m2];
    settling_velocity and vapor_velocity [m/s]; dropout_time [s] and length_needed [m] of a
    horizontal drum, NaN of a vertical one; used, length or area needed over what there is [-],
    infinite without a vapour space; falls_out, True where they do.
    """

    level: float
    vapor_height: float
    vapor_area: float
    settling_velocity: float
    vapor_velocity: float
    dropout_time: float
    length_needed: float
    used: float
    falls_out: bool
    working: Working = field(repr=False, default=None)


def separation(drum, arrival, level):
    """Do the droplets of an arrival fall out above a level of liquid.

    Parameters: drum; arrival; level of the liquid [m], above the bottom of a horizontal shell or
    the lower tangent line; arrays broadcast. Returns `Separation`. Raises InputError for a level
    outside the drum. Validity: gas spread over the whole vapour space, heads left out; no droplets
    torn off the surface (`lifting_velocity`); smaller droplets go on to the stack.
    Source: API 521 (2020), knock-out drums: L >= u_v theta N; vertical: gas slower than droplets.
    >>> drum = Drum("horizontal", 2.4384, length=5.7912)
    >>> gas = Arrival("example", 21.3, 3.9, vapor_density=2.9, liquid_density=496.6,
    ...               vapor_viscosity=1e-5)
    >>> s = separation(drum, gas, 1.399)
    >>> round(s.length_needed, 2), s.falls_out
    (5.88, False)
    """
    D, h = positive(diameter=drum.diameter), not_negative(level=level)
    drum.vessel.volume_of(level)  # refuses a level outside
    U, q = np.asarray(arrival.falls_at(drum.droplet_diameter)), np.asarray(arrival.volume_flow)
    if drum.orientation == "vertical":
        return _rising(drum, U, q, h)
    height = D - h
    area = drum.section - _segment(h / D) * D**2
    open_ = (height > (1.0 - _SHARE) * D) & (area > 0)
    area, height = np.where(open_, area, 0.0), np.where(open_, height, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        velocity = np.where(area > 0, q / (drum.passes * area), np.where(q > 0, np.inf, 0.0))
        theta = height / U
        needed = np.where(area > 0, velocity * theta * drum.passes, velocity)
    missing = np.isnan(h + q + U + D)
    needed = np.where(missing, np.nan, needed)
    used = needed / np.asarray(drum.length, dtype=float)
    h = np.broadcast_to(h, used.shape)
    values = [result(x) for x in (h, height, area, U, velocity, theta, needed, used)]
    return Separation(*values, result(kept(used, 1.0)), _steps(drum, arrival, values))


def _rising(drum, U, q, h):
    velocity = q / np.asarray(drum.section)
    used = velocity / U + 0.0 * h
    nothing = result(np.nan * used)
    height = result(np.asarray(drum.length) - h)
    level = result(np.broadcast_to(h, used.shape))
    return Separation(level, height, drum.section, result(U), result(velocity), nothing, nothing,
                      result(used), result(kept(used, 1.0)))  # fmt: skip


def _segment(part):
    """Area below a level in a circle of diameter 1; part, the level over the diameter."""
    z = np.clip(2.0 * part - 1.0, -1.0, 1.0)  # guard: rounding
    return 0.25 * (np.arccos(-z) + z * np.sqrt(1.0 - z**2))


def _steps(drum, arrival, found):
    if any(np.ndim(x) for x in found):
        return None
    _, height, area, U, velocity, theta, needed, _ = found
    d, rho_l, rho_v = drum.droplet_diameter, arrival.liquid_density, arrival.vapor_density
    mu = arrival.vapor_viscosity
    Re = U * d * rho_v / mu
    fall = dict(liquid_density=rho_l, vapor_density=rho_v)
    steps = [
        step("droplet_reynolds", Re, "U_c*d_d*rho_v/mu_v", "solved with the next two",
             settling_velocity=U, droplet_diameter=d, vapor_density=rho_v, vapor_viscosity=mu),
        step("drag_coefficient", drag_coefficient(Re),
             "24/Re_d*(1 + 0.1806*Re_d**0.6459) + 0.4251/(1 + 6880.95/Re_d)", DRAG,
             droplet_reynolds=Re),
        step("settling_velocity", U, "sqrt(4*g*d_d*(rho_l - rho_v)/(3*rho_v*C_D))",
             "weight against drag; API 521 (2020) prints sqrt(4/3) as 1.15", gravity=GRAVITY,
             droplet_diameter=d, drag_coefficient=drag_coefficient(Re), **fall),
        step("vapor_area", area, source="section of the shell less the liquid's segment"),
    ]  # fmt: skip
    if area == 0:
        return Working(steps)
    q, N = arrival.volume_flow, drum.passes
    return Working([*steps,
        step("dropout_time", theta, "h_vs/U_c", SOURCE, vapor_height=height, settling_velocity=U),
        step("vapor_velocity", velocity, "q/(N_p*A_v)", SOURCE, volume_flow=q, passes=N,
             vapor_area=area),
        step("length_needed", needed, "u_v*theta_d*N_p", SOURCE, vapor_velocity=velocity,
             dropout_time=theta, passes=N),
    ])  # fmt: skip


def least_vertical_diameter(volume_flow, settling_velocity):
    """Diameter of a vertical drum in which gas rises as fast as the droplets fall.

    Parameters: volume_flow of the gas [m3/s]; settling_velocity [m/s]; arrays broadcast. Returns
    m. Raises InputError for values that can't be. Source: API 521 (2020), knock-out drums.
    >>> round(least_vertical_diameter(7.345, 0.69), 2)
    3.68
    """
    q = not_negative(volume_flow=volume_flow)
    U = positive(settling_velocity=settling_velocity)
    return result(np.sqrt(4.0 * q / (np.pi * U)))


def highest_level(drum, arrival):
    """Highest level above which the droplets of an arrival still fall out [m].

    Parameters: drum; arrival, of scalars. Returns m; NaN where they do at no level. A vertical
    drum's level stops at its inlet, or at its upper tangent line where that is not known. Source:
    as `separation`. A vapour space 0.77 of the diameter high needs the shortest drum.
    >>> drum = Drum("horizontal", 2.4384, length=7.0)
    >>> gas = Arrival("example", 21.3, 3.9, vapor_density=2.9, liquid_density=496.6,
    ...               vapor_viscosity=1e-5)
    >>> round(highest_level(drum, gas), 2)
    1.79
    """
    D = float(drum.diameter)
    if drum.orientation == "vertical":
        top = drum.length if drum.inlet_height is None else drum.inlet_height
        return top if separation(drum, arrival, top).falls_out else np.nan
    low, high = (1.0 - _BEST_HEIGHT) * D, D
    if not separation(drum, arrival, low).falls_out:
        return np.nan
    for _ in range(50):
        middle = 0.5 * (low + high)
        good = separation(drum, arrival, middle).falls_out
        low, high = (middle, high) if good else (low, middle)
    return low


def time_until(drum, arrival, level):
    """Time from the start of an event until its liquid stands at a level.

    Parameters: drum, with its slops; arrival; level [m]. Returns s; 0 where it stands there
    already, infinite where too little comes. The pump is not counted: it may be what failed.
    Raises InputError for a level outside the drum. Source: volume over flow.
    >>> drum = Drum("horizontal", 2.4384, length=5.7912, slops=1.893)
    >>> gas = Arrival("example", 21.3, 3.9, vapor_density=2.9, liquid_density=496.6,
    ...               vapor_viscosity=1e-5)
    >>> round(time_until(drum, gas, 1.399) / 60, 1)
    30.0
    """
    room = np.asarray(drum.vessel.volume_of(level)) - np.asarray(drum.slops, dtype=float)
    q = np.asarray(arrival.liquid_volume_flow)
    end = arrival.liquid_mass
    most = np.inf if end is None else np.asarray(end) / np.asarray(arrival.liquid_density)
    with np.errstate(divide="ignore", invalid="ignore"):
        time = np.where(room <= 0, 0.0, np.where(room > most, np.inf, room / q))
    return result(np.where(np.isnan(room + q), np.nan, time))


def time_to_empty(liquid_volume, pump_flow):
    """Time in which the pump takes a volume of liquid out.

    Parameters: liquid_volume [m3]; pump_flow [m3/s]; arrays broadcast. Returns s. Raises
    InputError for values that can't be. Source: volume over flow.
    >>> time_to_empty(20.0, 0.005) / 60
    66.66666666666667
    """
    V, q = not_negative(liquid_volume=liquid_volume), positive(pump_flow=pump_flow)
    return result(V / q)


# ---- the whole drum


@dataclass(frozen=True)
class EventInDrum:
    """One event in a drum: its arrival, the liquid held [m3] and `Separation` above it.

    limit_level, above which its droplets still fall out [m], NaN for none; time_to_limit until its
    own liquid stands there, time_to_full until no vapour space is left [s].
    """

    arrival: Arrival
    held: float
    separation: Separation
    limit_level: float
    time_to_limit: float
    time_to_full: float


@dataclass(frozen=True)
class DrumCheck:
    """A drum against its events: events, findings, and which events govern gas and liquid.

    both, the `Separation` of the gas of the one above the liquid of the other; caught, the
    smallest droplet that falls out there [m], NaN without a vapour space.
    """

    drum: Drum
    events: tuple
    findings: tuple
    gas_event: EventInDrum
    liquid_event: EventInDrum
    both: Separation
    caught: float

    @property
    def verdict(self):
        """The worst verdict of the findings."""
        return worst(self.findings)

    def about(self, subject):
        """The `Finding` on one subject; InputError for another."""
        return about(self.findings, subject)

    def __str__(self):
        return "\n".join([f"drum: {self.verdict}", *(wrapped(f, "  ") for f in self.findings)])


def check(drum, arrivals, header_pressure=None):
    """A drum against every event that may come into it.

    Parameters: drum; arrivals, `Arrival`s of scalars, one an event; header_pressure,
    the highest that may stand there [Pa absolute], None where not known. Returns `DrumCheck`.
    Raises InputError for no arrival. Each event is judged above its own liquid, and the event that
    needs the most of the drum for its gas above the most liquid: the stricter rules.
    Source: API 521 (2020), knock-out drums; the last, common practice, no source.
    """
    if header_pressure is not None:
        positive(header_pressure=header_pressure)
    events = tuple(_event(drum, a) for a in arrivals)
    if not events:
        raise InputError("arrivals: give at least one event")
    wettest = max(events, key=lambda e: e.held)
    level = wettest.separation.level
    gassiest = max(events, key=lambda e: separation(drum, e.arrival, level).used)
    both = separation(drum, gassiest.arrival, level)
    findings = [
        *(_falls_out(drum, e.separation, f"droplets, {e.arrival.name}", "its own liquid")
          for e in events),
        _falls_out(drum, both, "largest gas above largest liquid",
                   f"{gassiest.arrival.name} above the liquid of {wettest.arrival.name}"),
        _room(drum, wettest), _surface(drum, gassiest.arrival, both), _droplet(drum),
        _cold(drum, events), _pressure(drum, header_pressure), _deflagration(drum),
    ]  # fmt: skip
    return DrumCheck(drum, events, tuple(findings), gassiest, wettest, both,
                     _caught(drum, gassiest.arrival, both))  # fmt: skip


def _event(drum, arrival):
    held = drum.held(arrival)
    top = highest_level(drum, arrival)
    until = 0.0 if np.isnan(top) else time_until(drum, arrival, top)
    return EventInDrum(arrival, held, separation(drum, arrival, drum.level(held)), top, until,
                       time_until(drum, arrival, drum.vessel.top))  # fmt: skip


def _caught(drum, arrival, separation):
    """Smallest droplet that just falls out of the gas of an arrival."""
    U = separation.settling_velocity * separation.used
    if not 0.0 < U < np.inf:
        return np.nan if U else 0.0
    return droplet_of(U, arrival.liquid_density, arrival.vapor_density, arrival.vapor_viscosity)


def _falls_out(drum, separation, subject, above):
    if np.isinf(separation.used):
        words = ("no vapour space is left",)
    elif drum.orientation == "vertical":
        words = (
            "gas rises at ",
            ("vapor_velocity", separation.vapor_velocity),
            ", droplets fall at ",
            ("settling_velocity", separation.settling_velocity),
        )
    else:
        words = ("needs ", ("length_needed", separation.length_needed), " of length, has ",
                 ("length", drum.length))  # fmt: skip
    return found(subject, separation.used, 1.0, (*words, f": {above}"), SOURCE)


def _room(drum, wettest):
    """Does the liquid stay below the inlet for as long as it must."""
    whole, subject, level = drum.vessel.volume, "room for the liquid", wettest.separation.level
    least, most = rules.HOLD_UP_LEAST, rules.HOLD_UP_MOST
    words = (("volume", wettest.held), " after ", ("hold_up_time", drum.hold_up_time), " of ",
             wettest.arrival.name)  # fmt: skip
    if wettest.held > whole:
        return Finding(subject, False, (*words, ": more than the ", ("volume", whole), " it holds"),
                       SOURCE)  # fmt: skip
    if not kept(least.value, drum.hold_up_time):
        words += (f": {least.number} to {most.number} are asked for",)
        return Finding(subject, False, words, least.source)
    words += (" stand at ", ("level", level))
    if drum.inlet_height is None:
        return Finding(subject, None, (*words, ": the height of the inlet is not given"), SOURCE)
    return found(subject, level, drum.inlet_height,
                 (*words, ", inlet at ", ("level", drum.inlet_height)), SOURCE)  # fmt: skip


def _surface(drum, arrival, separation):
    """Does the gas tear droplets off the liquid: only along a horizontal one."""
    subject, u = "surface of the liquid", separation.vapor_velocity
    if drum.orientation == "vertical":
        return Finding(subject, True, ("gas does not run along it",), LIFTING)
    if np.isinf(separation.used):
        return Finding(subject, False, ("no vapour space is left",), LIFTING)
    if arrival.surface_tension is None:
        words = ("surface tension and viscosity of the liquid are not given",)
        return Finding(subject, None, words, LIFTING)
    limit = lifting_velocity(arrival.liquid_density, arrival.vapor_density,
                             arrival.liquid_viscosity, arrival.surface_tension)  # fmt: skip
    words = ("gas passes it at ", ("vapor_velocity", u), ", tears droplets off above ",
             ("vapor_velocity", limit))  # fmt: skip
    return found(subject, u, limit, words, LIFTING)


def _droplet(drum):
    small, large = rules.DROPLET_SMALL, rules.DROPLET_LARGE
    words = ("catches those from ", ("droplet_diameter", drum.droplet_diameter),
             f" up; {small.number} to {large.number} are asked for")  # fmt: skip
    return found("size of droplets", drum.droplet_diameter, large.value, words, large.source)


def _cold(drum, events):
    known = [e.arrival.temperature for e in events]
    if drum.lowest_temperature is None or any(t is None for t in known):
        words = ("temperature of what comes, or what the metal is made for, is not given",)
        return Finding("cold", None, words)
    coldest = min(known)
    words = ("down to ", ("temperature", coldest), ", metal made for ",
             ("temperature", drum.lowest_temperature))  # fmt: skip
    if coldest < COLDEST_CARBON_STEEL:
        words += ("; plain carbon steel ends at ", ("temperature", COLDEST_CARBON_STEEL))
    if coldest < ICE_POINT:
        words += ("; water in the slops freezes",)
    return found("cold", -coldest, -drum.lowest_temperature, words)


def _pressure(drum, header_pressure):
    p = drum.design_pressure_gauge
    if p is None or header_pressure is None:
        words = ("design pressure, or what stands in the header, is not given",)
        return Finding("pressure", None, words, SOURCE)
    gauge = header_pressure - drum.atmosphere
    words = ("header ", ("pressure_gauge", gauge), ", made for ", ("design_pressure_gauge", p))
    return found("pressure", gauge, p, words, SOURCE)


def _deflagration(drum):
    p, rule, subject = drum.design_pressure_gauge, rules.DRUM_DESIGN, "explosion inside"
    if p is None:
        return Finding(subject, None, ("design pressure not given",), rule.source)
    words = ("made for ", ("design_pressure_gauge", p), f"; usual against air that came in and "
             f"burns: {rule.number} gauge or more")  # fmt: skip
    less = () if kept(rule.value, p) else (". Less has to be shown to be enough",)
    return Finding(subject, None if less else True, words + less, rule.source)


# ---- from a plant


def of_plant(plant, **changes):
    """The knock-out drum that a plant's file describes, the first of `[disposal.drums]`.

    Parameters: plant; changes, fields of `Drum` in place of the file's. Returns `Drum`. Raises
    InputError where the file has none. Source: the plant's file.
    >>> from relieflib.plant import load_plant
    >>> of_plant(load_plant()).orientation
    'horizontal'
    """
    items = plant.of("disposal.drums")
    if not items:
        raise InputError("disposal.drums: the plant's file has none")
    given = {name: getattr(items[0], key) for key, name in _OF_FILE.items()
             if hasattr(items[0], key)}  # fmt: skip
    return Drum(**given | {"atmosphere": plant.atmosphere} | changes)


_SAME = "orientation diameter length head_type slops droplet_diameter inlet_height"
_OF_FILE = {name: name for name in f"{_SAME} design_pressure_gauge".split()} | {
    "vapour_passes": "passes", "holdup_time": "hold_up_time", "pump_out": "pump_flow",
    "lowest_metal_temperature": "lowest_temperature",
}  # fmt: skip
