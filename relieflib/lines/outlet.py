"""Outlet line of a relief valve: the back pressure it builds up, and what the valve makes of it.

Superimposed back pressure stands at the outlet before the valve opens, constant or variable; the
built-up one comes with the flow, at RATED flow. A spring is set against the constant one alone, so
the variable one counts here with the built-up one.
"""

import warnings
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from relieflib import rules
from relieflib.devices import back_pressure_limit
from relieflib.errors import (
    ValidityWarning,
    finite,
    not_negative,
    positive,
    refuse,
    result,
)
from relieflib.lines.fittings import pipe_size
from relieflib.lines.inlet import _viscosity, flange_bore, installed
from relieflib.lines.line import LineCheck, flag_where, march, runs, verdict_of
from relieflib.lines.line_fluids import fluid_in_line, outlet_temperature
from relieflib.lines.line_steps import pressure_steps
from relieflib.nozzle.gas import critical_ratio
from relieflib.nozzle.steam import choking_k
from relieflib.orifices import (
    COLDEST_CARBON_STEEL,
    LETTERS,
    flange_rating,
    next_area,
    pair_words,
    parse_designation,
)
from relieflib.sizing import rated_flow, size
from relieflib.units import GRAVITY
from relieflib.valve_questions import back_pressure_holds
from relieflib.working import Working, step

SOURCE = "API 520-I (2020), 5.3: back pressure"
FLANGES = "ASME B16.5-2009, carbon steel group 1.1: larger of table 2-1.1 (bar) and F2-1.1 (psi)"
STOPPED = "the back pressure passes that at which the valve's flow is known: it stops there"
BOILS = "vapour pressure not given: holds only where the liquid does not boil in the line"
HIGH_MACH = rules.TAIL_PIPE_SPEED.value  # tail pipes and laterals up to here


@dataclass(frozen=True)
class OutletCheck(LineCheck):
    """Verdict on an outlet line; value is the back pressure that is limited, with its limit [Pa].

    limit_kind, 'built-up', 'total' or 'none'; outlet_pressure at the valve's flange and
    header_pressure beyond the end [Pa]; built_up and total_back [Pa]; choked, True where the flow
    chokes somewhere in the line or in the flange; outlet_temperature, behind the valve at rest [K];
    flange_rating_gauge [Pa gauge]; stations, the state along the line.
    """

    limit_kind: str = ""
    outlet_pressure: float = np.nan
    header_pressure: float = np.nan
    built_up: float = np.nan
    total_back: float = np.nan
    choked: bool = False
    outlet_temperature: float = np.nan
    flange_rating_gauge: float = np.nan
    stations: tuple = field(default=(), repr=False)
    place: object = field(default=None, repr=False)

    @property
    def exit(self):
        """`Station` at the end of the line."""
        return self.stations[-1]

    @property
    def profile(self):
        """Stations at the start and end of every part, for a picture."""
        p = self.place
        return march(self.line, p.fluid, self.mass_flow, p.header, p.viscosity, cut=True)

    @cached_property
    def capacity(self):
        """Flow the valve can be credited with [kg/s]; beyond the limit OUR ESTIMATE, no standard's.

        Rated flow within the limit. Beyond it a conventional valve can't keep its lift, nor does a
        balanced one have a factor, and no standard gives a flow: then that at which the back
        pressure is just at the limit, to which the valve may throttle itself. Use it to see how far
        off a line is, never to accept it. Source: force balance on the disc; our own, no source.
        """
        if self.limit_kind == "none":
            return self.mass_flow
        # the limited back pressure less its limit is what the outlet pressure has too much
        allowed = np.asarray(self.outlet_pressure) - np.asarray(self.value) + self.limit
        W = np.asarray(self.mass_flow, dtype=float)
        over = np.asarray(self.value) > np.asarray(self.limit) * (1 + 1e-9)
        if not over.any():
            return self.mass_flow

        def excess(part):
            return self.place.pressure(np.maximum(part, 1e-12) * W) - allowed

        part = _root(excess, np.zeros(over.shape), np.ones(over.shape))
        return result(np.where(over, np.where(excess(0.0 * W) > 0, 0.0, part * W), W))

    @property
    def sufficient(self):
        """True where the capacity covers the load."""
        return result(np.asarray(self.capacity) >= np.asarray(self.sizing.load.mass_flow)
                      * (1 - 1e-9))  # fmt: skip


@dataclass(frozen=True)
class _Place:
    """Where a valve blows into: the pressure at its flange, as a function of the flow."""

    line: object
    fluid: object
    header: float
    viscosity: float | None
    flange: float

    def stations(self, W):
        return march(self.line, self.fluid, W, self.header, self.viscosity)

    def flange_choke(self, W):
        """Choke pressure in the flange or the line's first bore, the narrower one."""
        own = np.fmin(0.25 * np.pi * np.square(self.flange), np.asarray(self.line.parts[0].share))
        return self.fluid.choke(np.asarray(W) / own)

    def pressure(self, W):
        return np.maximum(self.stations(W)[0].pressure, self.flange_choke(W))


def seal_pressure(header_pressure, seal_depth, seal_density):
    """Pressure at the end of a line that dips into a liquid, such as the seal of a closed system.

    Parameters: header_pressure above the liquid [Pa]; seal_depth below its surface [m];
    seal_density [kg/m3]; arrays broadcast. Returns Pa, to be given as header_pressure. Raises
    InputError for values not above 0 (depth: negative). Source: hydrostatics.
    >>> round(seal_pressure(101325.0, 0.3, 1000.0))
    104267
    """
    P, rho = positive(header_pressure=header_pressure, seal_density=seal_density)
    return result(P + rho * GRAVITY * not_negative(seal_depth=seal_depth))


def check(sizing, line, *, header_pressure=None, designation=None, superimposed_gauge=0.0,
          variable_superimposed_gauge=0.0, viscosity=None, flow="adiabatic", line_Z=1.0,
          flange_class=150):  # fmt: skip
    """Is the back pressure that the outlet line builds up at rated flow within the valve's limit.

    Parameters: sizing, with a set pressure in its device; line, a `Line` whose end is open to
    header_pressure [Pa] while the valve relieves, the atmosphere with all superimposed pressure by
    default; designation of the valve such as '4P6', None for the usual one of the letter;
    superimposed_gauge, constant, and variable_superimposed_gauge, highest above it [Pa gauge];
    viscosity of a stream that holds none [Pa s], None for fully rough flow; flow, 'adiabatic' or
    'isothermal', and line_Z [-], for gas; flange_class of the outlet. Returns `OutletCheck`.
    Raises InputError without a set pressure, for a disk alone, a header pressure below the
    superimposed one, a rise in a line of gas, and as `fluid_in_line`.
    Validity: steady flow; gas ideal but for line_Z; two-phase flow homogeneous. No pressure is won
    back from the flange into a wider line; where the line itself widens, the momentum balance of an
    abrupt widening wins some back, less than a taper does: see line_fluids. The rated flow is that
    of the sizing's back pressure: `solve` finds both together.
    Source: API 520-I (2020), 5.3; API 521 (2020), 5.5.
    >>> from relieflib.devices import Device
    >>> from relieflib.lines.line import Line, Part
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> load = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                      k=1.11, Z=0.90))
    >>> s = size(load, Device(set_pressure_gauge=517e3))
    >>> c = check(s, Line([Part("other", 0.15405, K=2.0)]))
    >>> round(c.built_up / 517e3, 3), c.verdict
    (0.191, 'over limit')
    """
    stream, device = sizing.load.stream, sizing.device
    name, W = installed(sizing, designation)
    place = _place(stream, device, line, header_pressure, name, superimposed_gauge,
                   variable_superimposed_gauge, viscosity, flow, line_Z)  # fmt: skip
    stations = place.stations(W)
    P_o = np.maximum(stations[0].pressure, place.flange_choke(W))
    atmosphere, pset = device.atmosphere, device._set()
    over = finite(pressure=stream.pressure) - atmosphere - pset
    refuse(over < 0, "overpressure", over, "the relieving pressure is below set: no valve opens")
    total = P_o - atmosphere
    built = total - superimposed_gauge
    answer = back_pressure_holds(device.kind, pset, over, built, total)
    kind, value = answer.what, answer.value
    limit = answer.limit + 0.0 * value
    T = outlet_temperature(stream, place.header)
    rating = flange_rating(flange_class, T) + 0.0 * value
    choked = np.any([s.choked + 0.0 * value > 0 for s in stations], axis=0)
    choked = choked | (P_o <= place.flange_choke(W) * (1 + 1e-9)) & (P_o > 0)
    if place.fluid.kind == "liquid":
        choked = choked & False
    steps = _steps(sizing, line, place, W, stations, P_o, superimposed_gauge, kind, limit, over)
    flags = _flags(sizing, line, name, place, stations, choked, T, total, rating,
                   variable_superimposed_gauge)  # fmt: skip
    return OutletCheck(
        sizing, line, W, result(value), result(limit), verdict_of(value, limit), tuple(flags),
        Working(steps), limit_kind=kind, outlet_pressure=result(P_o),
        header_pressure=result(place.header), built_up=result(built), total_back=result(total),
        choked=result(choked), outlet_temperature=T, flange_rating_gauge=result(rating),
        stations=stations, place=place,
    )  # fmt: skip


def _place(stream, device, line, header_pressure, name, constant, variable, viscosity, flow, Z):
    """Header pressure, fluid in the line and flange, all checked."""
    constant, variable = not_negative(superimposed_gauge=constant,
                                      variable_superimposed_gauge=variable)  # fmt: skip
    least = device.atmosphere + constant
    if header_pressure is None:
        header = least + variable
    else:
        header = positive(header_pressure=header_pressure)
        refuse(header < least * (1 - 1e-12), "header_pressure", header,
               "is below the constant superimposed back pressure")  # fmt: skip
    fluid = fluid_in_line(stream, header, flow, Z)
    return _Place(line, fluid, header, _viscosity(stream, viscosity), _outlet_bore(name))


def _outlet_bore(name):
    """Bore of the outlet flange, schedule 40 of its size [m]; NaN where it isn't known."""
    if np.ndim(name):
        return np.array([_outlet_bore(n) for n in name.flat]).reshape(name.shape)
    if name is None:
        return np.nan
    return pipe_size(parse_designation(name).outlet).inside_diameter


def _root(f, low, high):
    """Where f, which rises, crosses 0 between two arrays: false position, the stale end halved.

    The end itself where f does not cross between them.
    """
    f_low, f_high, side = f(low), f(high), np.zeros(np.shape(low))
    enough = 1e-12 * np.maximum(np.abs(f_low), np.abs(f_high))
    below, above = f_high <= 0, f_low >= 0
    x = np.where(below, high, low)
    for _ in range(100):
        x = np.where(below, high, np.where(above, low, x))
        span = np.where(below | above, 1.0, f_high - f_low)  # guard: not used at an end
        middle = high - f_high * (high - low) / span
        x = np.where(below | above, x, middle)
        fx = f(x)
        if not np.any((np.abs(fx) > enough) & ~below & ~above):
            break
        right = fx > 0
        halved = 0.5 * np.asarray(f_low), 0.5 * np.asarray(f_high)  # guard: the pace of the steps
        f_low, f_high = (np.where(right & (side > 0), halved[0], f_low),
                         np.where(~right & (side < 0), halved[1], f_high))  # fmt: skip
        low, f_low = np.where(right, low, x), np.where(right, f_low, fx)
        high, f_high = np.where(right, x, high), np.where(right, fx, f_high)
        side = np.where(right, 1.0, -1.0)  # guard: a sign
    return x


def _highest_back(stream, device):
    """Highest back pressure [Pa] at which the rated flow of a valve is known."""
    P = np.asarray(stream.pressure, dtype=float) * (1 - 1e-9)
    if device.kind == "balanced":  # guard: the curves end at half of set
        return np.minimum(
            P, device.atmosphere + back_pressure_limit("balanced", device._set(), 0)[1]
        )
    if stream.phase == "steam":  # Napier holds for choked steam alone
        return P * critical_ratio(choking_k(stream.temperature))
    return P


def solve(load, device, line, *, header_pressure=None, designation=None, superimposed_gauge=0.0,
          variable_superimposed_gauge=0.0, viscosity=None, flow="adiabatic", line_Z=1.0,
          flange_class=150, edition=10):  # fmt: skip
    """Size a valve together with the back pressure that its own outlet line builds up.

    Parameters: load, device; line, designation and all others as `check`; edition of API 520-I. The
    rated flow of a letter and the back pressure it makes are found together; where the letter is
    then too small, the next one is tried. Returns `OutletCheck`, whose `sizing` holds the back
    pressure found, and whose `capacity` is less than the rated flow where the limit of a
    conventional or balanced valve is passed. Raises InputError as `check` and `size`.
    Validity as `check`. Where a valve's flow is not known at so high a back pressure (balanced:
    half of set; steam: no longer choked) the back pressure stops there, and a flag says so.
    Source: API 520-I (2020), 5.3 and 5.6 to 5.11; API 521 (2020), 5.5.
    >>> from relieflib.devices import Device
    >>> from relieflib.lines.line import Line, Part
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad
    >>> load = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                      k=1.11, Z=0.90))
    >>> c = solve(load, Device("balanced", 517e3), Line([Part("other", 0.15405, K=2.0)]))
    >>> c.sizing.letter, c.verdict, round(c.built_up / 517e3, 3)
    ('P', 'within limit', 0.191)
    """
    options = dict(designation=designation, superimposed_gauge=superimposed_gauge,
                   variable_superimposed_gauge=variable_superimposed_gauge, viscosity=viscosity,
                   flow=flow, line_Z=line_Z, flange_class=flange_class)  # fmt: skip
    least = device.atmosphere + np.asarray(superimposed_gauge) + variable_superimposed_gauge
    first = size(
        load, device, result(least) if header_pressure is None else header_pressure, edition
    )
    name = installed(first, designation)[0]
    area = first.area if designation is None else parse_designation(designation).area
    for _ in LETTERS:
        place = _place(load.stream, device, line, header_pressure, name, superimposed_gauge,
                       variable_superimposed_gauge, viscosity, flow, line_Z)  # fmt: skip
        back, stopped = _balance(load.stream, device, place, area, edition)
        sizing = size(load, device, back, edition)
        small = np.asarray(sizing.required_area) > np.asarray(area) * (1 + 1e-9)
        small &= np.asarray(area) < LETTERS["T"] * (1 - 1e-9)
        if designation is not None or not small.any():
            break
        area = next_area(result(np.where(small, np.asarray(area) * (1 + 1e-6), area)))
        name = sizing.designation
    found = check(sizing, line, header_pressure=header_pressure, **options)
    return replace(found, flags=(*found.flags, *flag_where(stopped, STOPPED)))


def _balance(stream, device, place, area, edition):
    """Back pressure that the rated flow of an area makes; True where it stops short of that."""
    highest = (
        _highest_back(stream, device) + 0.0 * np.asarray(area) + 0.0 * np.asarray(place.header)
    )

    def flow(P):
        return np.asarray(rated_flow(stream, device, area, result(P), edition))

    with (
        warnings.catch_warnings()
    ):  # trial flows may lie outside a validity; the answer is warned of
        warnings.simplefilter("ignore", ValidityWarning)
        # what the line asks for falls as the back pressure rises, so it brackets the answer
        least = place.pressure(flow(highest))
        back = _root(lambda P: P - place.pressure(flow(P)), np.minimum(least, highest), highest)
    stopped = (back >= highest) & (least > highest)
    return result(back), stopped


def _steps(sizing, line, place, W, stations, P_o, constant, kind, limit, over):
    """Working from the rated flow to the verdict."""
    stream, device = sizing.load.stream, sizing.device
    pieces = runs(line, W, place.viscosity)
    steps = [step("rated_flow", W, source="rated flow of the valve")]
    steps += pressure_steps(sizing, line, place, W, pieces, stations)
    choke = result(place.flange_choke(W) + 0.0 * P_o)
    where = dict(start_pressure=stations[0].pressure, choke_pressure=choke)
    common = dict(outlet_pressure=result(P_o), atmosphere=device.atmosphere)
    steps += [
        step("outlet_pressure", result(P_o), "max(P_st, P_ch)",
             "at the valve's flange, which chokes where P_ch is the higher", **where),
        step("total_back", result(P_o - device.atmosphere), "P_o - Patm", SOURCE, **common),
        step("built_up", result(P_o - device.atmosphere - constant), "P_o - Patm - psup",
             SOURCE + ": the variable part counts with it", superimposed_gauge=constant, **common),
    ]  # fmt: skip
    if kind == "built-up":
        steps.append(
            step(
                "back_limit",
                result(limit),
                "P1 - Patm - pset",
                SOURCE + ": conventional, overpressure",
                pressure=stream.pressure,
                atmosphere=device.atmosphere,
                set_pressure_gauge=device._set(),
            )
        )
    elif kind == "total":
        steps.append(step("back_limit", result(limit), f"{rules.BALANCED_BACK.value:g}*pset",
                          SOURCE + ": balanced, typical",
                          set_pressure_gauge=device._set()))  # fmt: skip
    return steps


def _flags(sizing, line, name, place, stations, choked, T, total, rating, variable):
    """What else to look at, in words."""
    device, flags = sizing.device, _no_pair(name)
    flags += flag_where(line.smallest_diameter < np.asarray(flange_bore(name, "outlet")),
                        "a part is narrower than the valve's outlet")  # fmt: skip
    flags += flag_where(choked, "the flow chokes in the line or the flange")
    mach = np.max([np.asarray(s.mach) + 0.0 * total for s in stations], axis=0)
    if place.fluid.kind != "liquid":
        flags += flag_where((mach > HIGH_MACH) & ~choked,
                            f"fast: above {HIGH_MACH} of the speed at which it chokes")  # fmt: skip
    if device.kind == "conventional":
        flags += flag_where(np.asarray(variable) > 0, "variable superimposed back pressure shifts "
                            "the set pressure of a conventional valve by as much")  # fmt: skip
    flags += flag_where(np.asarray(T) < COLDEST_CARBON_STEEL,
                        "cold: below -29 °C carbon steel needs an impact test")  # fmt: skip
    flags += flag_where(total > rating, f"above the rating of the outlet flange ({FLANGES})")
    return flags + _liquid_flags(sizing, line, place)


def _no_pair(name):
    words = pair_words(name) if isinstance(name, str) else ""
    return [words] if words else []


def _liquid_flags(sizing, line, place):
    if place.fluid.kind != "liquid":
        return []
    stream, device = sizing.load.stream, sizing.device
    if stream.phase == "liquid" and stream.saturation_pressure is None:
        return [BOILS, *_liquid_end(device, line, place)]
    return _liquid_end(device, line, place)


def _liquid_end(device, line, place):
    flags = flag_where(np.asarray(place.header) <= device.atmosphere * (1 + 1e-9),
                       "liquid at atmospheric pressure: lead it to a closed system")  # fmt: skip
    return flags + flag_where(np.asarray(line.elevation) > 0, "the line rises: liquid left in it "
                              "stands on the valve before it opens, as superimposed")  # fmt: skip
