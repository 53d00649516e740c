"""Inlet line of a relief valve: what of the pressure is lost between the vessel and the valve.

The rule limits the pressure lost for good (friction, fittings, entrance), at RATED flow, to 3 % of
set pressure, gauge. It does not count the velocity head, which comes back, nor a liquid's column.
It names no density. A gas expands along the line and loses more than at the density of the vessel,
near the limit by about a tenth: the verdict counts that larger loss, since it is the real one.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from relieflib import rules
from relieflib.devices import DISK_UPSTREAM
from relieflib.errors import InputError, positive, refuse, result
from relieflib.lines.fittings import pipe_size
from relieflib.lines.line import LineCheck, flag_where, runs, verdict_of
from relieflib.lines.line_fluids import Adiabatic, Expanding
from relieflib.lines.line_steps import FANNO_HEADS, _flux_step, friction_steps
from relieflib.lines.pipe_flow import FANNO, _fanno, _fanno_inverse
from relieflib.nozzle.gas import choked_square
from relieflib.nozzle.steam import choking_k
from relieflib.orifices import orifice_area, parse_designation
from relieflib.sizing import ideal_flux, rated_flow
from relieflib.units import GAS_CONSTANT, GRAVITY
from relieflib.valve_questions import bore_enough, inlet_holds
from relieflib.working import Working, step

SOURCE = "API 520-II (2020), 7.3: inlet pressure loss"
EXPANDED = ("dp_exb + (P1 - dp_exb)*(1 - Ma_s/Ma_x*((2 + (k - 1)*Ma_x**2)"
            "/(2 + (k - 1)*Ma_s**2))**((k + 1)/(2*(k - 1))))")  # fmt: skip
LOSS_LIMIT = rules.INLET_LOSS.value  # of set pressure, gauge
BLOWDOWN_MARGIN = rules.BLOWDOWN_MARGIN.value  # of set, kept between loss and blowdown
NOT_IN_INLET = ("globe valve", "check valve")


@dataclass(frozen=True)
class InletCheck(LineCheck):
    """Verdict on an inlet line; value is the loss, limit 3 % of set (or as told) [Pa].

    loss_fraction, loss over set pressure, gauge [-]; plain_loss, at the density of the relieving
    state [Pa]; expanded_loss, of a gas that expands along the line [Pa], NaN for others and where
    the line chokes: the larger of the two is the value; static_head, that the valve stands above
    the vessel [Pa]; valve_pressure, at the valve's inlet while it passes mass_flow [Pa]; velocity
    there [m/s]; K, of the whole line in velocity heads of its last bore [-]; largest_K, that the
    limit allows in a line of that bore [-]; rated, flow of the valve without loss [kg/s];
    viscosity [Pa s], designation and modulating the check was made with.
    """

    loss_fraction: float = np.nan
    plain_loss: float = np.nan
    expanded_loss: float = np.nan
    static_head: float = 0.0
    valve_pressure: float = np.nan
    velocity: float = np.nan
    K: float = np.nan
    largest_K: float = np.nan
    rated: float = np.nan
    viscosity: float | None = None
    designation: object = None
    modulating: bool = False

    @property
    def profile(self):
        """What is lost up to the end of each part, as (words, loss [Pa]), for a picture.

        The last loss is the value of the check, but for a line that chokes.
        """
        stream, W = self.sizing.load.stream, self.mass_flow
        pieces, found = runs(self.line, W, self.viscosity, cut=True), []
        for count, run in enumerate(pieces, 1):
            plain = _loss_steps(pieces[:count], self.line, W, np.asarray(stream.density),
                                self.viscosity, False)[1]  # fmt: skip
            expanded = _expansion(stream, pieces[:count], W, plain)[0]
            loss = _counted(stream, self.sizing.back_pressure, plain, expanded)
            found.append((run.parts[0].words, result(loss)))
        return tuple(found)

    @property
    def blocked(self):
        """True where the line would take all of the pressure: it can't pass this flow.

        The loss and the pressure that is left then are sums without a meaning.
        """
        return result(np.asarray(self.valve_pressure) <= np.asarray(self.sizing.back_pressure))

    @cached_property
    def capacity(self):
        """Flow the valve passes at the pressure that is left at its inlet [kg/s].

        The flux falls with the pressure, the factors stay. A lower bound: the loss is that of the
        full rated flow, also of a modulating valve; 0 where that takes all of the pressure. Raises
        InputError where the stream knows no flux at that pressure.
        """
        if self.modulating:
            own = getattr(self.sizing.load.stream, "viscosity", None)
            given = self.viscosity if own is None else None
            return check(
                self.sizing, self.line, designation=self.designation, viscosity=given
            ).capacity
        sizing, back = self.sizing, np.asarray(self.sizing.back_pressure, dtype=float)
        stream = _at_pressure(sizing.load.stream, result(np.maximum(self.valve_pressure, back)))
        flux = np.where(self.valve_pressure <= back, 0.0, ideal_flux(stream, sizing.device, back))
        full = ideal_flux(sizing.load.stream, sizing.device, back)
        return result(np.asarray(self.rated) * flux / full)


def installed(sizing, designation=None):
    """Valve that is installed: its name, and the flow it passes at the conditions of a sizing.

    Parameters: sizing; designation such as '4P6' of the valve, None for the usual one of the
    sizing's letter. Returns (designation, mass flow [kg/s]). Raises InputError for a device that is
    no valve. Source: API 526; API 520-I (2020), 5.6 to 5.11, solved for W.
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> s = size(ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                        k=1.11, Z=0.90)))
    >>> [round(installed(s, d)[1], 2) for d in ("4P6", "6Q8")]
    [7.5, 12.99]
    """
    if sizing.device.kind == "disk":
        raise InputError("kind = 'disk': a disk alone has no rule of inlet or outlet")
    if designation is None:
        return sizing.designation, sizing.rated_flow
    area = parse_designation(designation).area
    return designation, rated_flow(
        sizing.load.stream, sizing.device, area, sizing.back_pressure, sizing.edition
    )


def flange_bore(designation, side="inlet"):
    """Bore that a valve's flange has at least, that of a schedule 80 pipe of its size.

    Parameters: designation, str or array of str; side, 'inlet' or 'outlet'. Returns m; NaN for
    None. Raises InputError as `orifices.parse_designation`. Source: common practice, no source;
    pipe of ASME B36.10M.
    >>> round(flange_bore("4P6") * 1e3, 1)
    97.2
    """
    if np.ndim(designation):
        return np.array([flange_bore(d, side) for d in designation.flat]).reshape(designation.shape)
    if designation is None:
        return float("nan")
    return pipe_size(getattr(parse_designation(designation), side), "80").inside_diameter


def _viscosity(stream, viscosity):
    own = getattr(stream, "viscosity", None)
    if own is not None and viscosity is not None:
        raise InputError("viscosity: the stream has one; give it once")
    return own if viscosity is None else viscosity


def check(sizing, line, *, designation=None, modulating=False, remote_sensing=False, viscosity=None,
          loss_limit=LOSS_LIMIT):  # fmt: skip
    """Is the pressure lost in the inlet line small enough for the valve to stay open.

    Parameters: sizing, with a set pressure in its device; line, a `Line`; designation of the valve,
    None for the usual one of the letter; modulating, True for a valve that opens only as far as
    the load needs: the load counts, not the rated flow; remote_sensing, True for a pilot that
    senses the vessel: no limit, the loss only takes capacity; None where it is not said;
    viscosity of a stream that holds none [Pa s], None for fully rough flow; loss_limit as a
    fraction of set [-]. Returns `InletCheck`.
    Raises InputError without a set pressure, for a disk alone, remote sensing of a valve that is no
    pilot, a rise in a line of gas. Validity: gas, dry steam and a real fluid that is gas are
    followed as they expand (Fanno) and the verdict counts that loss; for others the density of the
    relieving state holds all along, so the loss should stay small: two-phase flow loses more.
    Source: API 520-II (2020), 7.3, which limits the loss at rated flow and names no density, from
    memory; modulating valves and remote sensing there too, from memory.
    >>> from relieflib.devices import Device
    >>> from relieflib.lines.line import Line, Part
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> load = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                      k=1.11, Z=0.90))
    >>> line = Line([Part("other", 0.10226, K=0.75)])
    >>> c = check(size(load, Device(set_pressure_gauge=517e3)), line)
    >>> round(100 * c.loss_fraction, 2), c.verdict, round(c.largest_K, 3)
    (5.22, 'over limit', 0.435)
    """
    stream, device = sizing.load.stream, sizing.device
    if remote_sensing and device.kind != "pilot":
        raise InputError(f"remote_sensing belongs to a pilot valve: a {device.kind} one ignores it")
    name, rated = installed(sizing, designation)
    W = sizing.load.mass_flow if modulating else rated
    pset, rho = device._set(), np.asarray(stream.density)
    x = positive(loss_limit=loss_limit)
    usual = f"{LOSS_LIMIT:g} for {rules.INLET_LOSS.number}"
    refuse(x >= 1.0, "loss_limit", x, f"is a fraction of set pressure: {usual}")
    if not (stream.phase == "liquid" or np.all(getattr(stream, "liquid_inlet", False))):
        refuse(np.asarray(line.elevation) != 0, "elevation", line.elevation,
               "counts for liquids alone: leave it 0 for gas and two-phase flow")  # fmt: skip
    mu = _viscosity(stream, viscosity)
    pieces = runs(line, W, mu)
    steps, plain = _loss_steps(pieces, line, W, rho, mu, modulating)
    expanded, more = _expansion(stream, pieces, W, plain)
    loss = _counted(stream, sizing.back_pressure, plain, expanded)
    answer = inlet_holds(device.kind, loss, pset, x, remote_sensing)
    limit = answer.limit + 0.0 * loss
    static = rho * GRAVITY * np.asarray(line.elevation) + 0.0 * loss
    valve = stream.pressure - loss - static
    G_last = np.asarray(W) / pieces[-1].area
    allowed = result(x * pset + 0.0 * loss)
    widest, largest = _largest_steps(stream, rho, allowed, result(G_last))
    steps += more + _limit_steps(loss, plain, expanded, pset, x, static, valve, stream)
    if not remote_sensing:
        steps.append(step("inlet_limit", result(x * pset), "x_lim*pset", SOURCE,
                          loss_limit=result(x), set_pressure_gauge=result(pset)))  # fmt: skip
        steps += largest
    values = dict(
        loss_fraction=result(loss / pset), plain_loss=result(plain),
        expanded_loss=result(expanded),
        static_head=result(static), valve_pressure=result(valve),
        velocity=result(G_last / rho), rated=rated,
        K=result(2.0 * rho * plain / G_last**2), largest_K=widest, viscosity=mu,
        designation=designation, modulating=modulating,
    )  # fmt: skip
    flags = _flags(sizing, line, name, loss, plain, limit, valve)
    word = verdict_of(loss, limit, answer.known)
    return InletCheck(sizing, line, W, result(loss), result(limit), word, tuple(flags),
                      Working(steps), **values)  # fmt: skip


def _at_pressure(stream, pressure):
    """The stream at a lower pressure: temperature, quality or enthalpy stays, omega follows."""
    if stream.phase == "real fluid":
        return replace(stream, pressure=pressure, temperature=None, quality=None,
                       enthalpy=stream.state.enthalpy)  # fmt: skip
    if stream.phase == "two-phase" and stream.saturation_pressure is None:
        fluid = Expanding.homogeneous(stream.pressure, stream.density, stream.omega)
        v = fluid.volume(pressure)
        return replace(stream, pressure=pressure, density=result(1.0 / v),
                       omega=result(fluid.b / (pressure * v)))  # fmt: skip
    return replace(stream, pressure=pressure)


def _flags(sizing, line, name, loss, plain, limit, valve):
    """Common mistakes, in words."""
    bore = np.asarray(flange_bore(name))
    narrow = ~bore_enough(line.smallest_diameter, bore)
    flags = flag_where(narrow,
                       "a part is narrower than the valve's inlet: the bore must be at least that "
                       "of the valve (ASME BPVC XIII, formerly VIII-1 UG-135)")  # fmt: skip
    flags += flag_where(~narrow & ~bore_enough(line.smallest_share, 0.25 * np.pi * bore**2),
                        "a part that valves share has less area than their inlets together "
                        "(ASME BPVC XIII, formerly VIII-1 UG-135)")  # fmt: skip
    kinds = [p.kind for p in line.parts]
    for part in line.parts:
        if part.bore is not None:
            flags += flag_where(np.asarray(part.bore) < np.asarray(part.diameter),
                                f"{part.kind}: not full bore")  # fmt: skip
    flags += [f"{k}: has no place in an inlet line" for k in NOT_IN_INLET if k in kinds]
    if "gate valve" in kinds or "ball valve" in kinds:
        flags.append("block valve in the inlet: locked or car-sealed open (ASME BPVC XIII)")
    flags += _disk_flags(sizing.device, "rupture disk" in kinds)
    if not any(k.startswith("entrance") for k in kinds) and "other" not in kinds:
        flags.append(
            "no entrance among the parts: the loss from the vessel into the line is missing"
        )
    changes = (np.asarray(plain) <= limit) & (np.asarray(loss) > limit)
    flags += flag_where(changes, "within the limit at the density of the vessel, over it as the "
                        "gas expands along the line")  # fmt: skip
    return flags + flag_where(
        np.asarray(valve) <= sizing.back_pressure,
        "the line takes all of the pressure: it can't pass this flow",
    )


def _disk_flags(device, has_disk):
    if has_disk and device.Kc == 1.0:
        return [f"rupture disk in the line but Kc is 1: give {DISK_UPSTREAM:g}, or the certified "
                "factor (API 520-I, 5.11)"]  # fmt: skip
    if device.Kc != 1.0 and not has_disk:
        return ["Kc is below 1 but no rupture disk is among the parts: its loss is missing"]
    return []


# ---- the loss: at one density, of a gas that expands, and the steps of both


def _loss_steps(pieces, line, W, rho, mu, modulating):
    """Steps of each run and the loss of all [Pa]."""
    flow, sign = ("mass_flow", "W") if modulating else ("rated_flow", "W_rated")
    steps, loss = [step("density", result(rho), source="state at relieving conditions")], 0.0
    steps.insert(0, step(flow, W, source="load" if modulating else "rated flow of the valve"))
    for run in pieces:
        G, K = np.asarray(W) / run.area, run.K + run.widening
        heads = run.heads + run.widening
        here = heads * G**2 / (2.0 * rho)
        steps.append(
            _flux_step(run, result(G), "flow over the area of the bore", sign, **{flow: W})
        )
        steps += friction_steps(line, run, W, mu)
        steps.append(step("velocity_heads", result(heads), "f*L/D + K", "Crane TP-410 (2009)",
                          friction_factor=run.friction_factor, length=run.length,
                          diameter=run.diameter, K=result(K)))  # fmt: skip
        steps.append(step("inlet_loss", result(loss + here), "dp_bef + N_v*G_p**2/(2*rho)", SOURCE,
                          loss_before=result(loss + 0.0 * here), velocity_heads=result(heads),
                          pipe_flux=result(G), density=result(rho)))  # fmt: skip
        loss = loss + here
    return steps, loss


def _as_gas(stream):
    """Ideal gas of the stream's pressure, density and k, whose losses are those of it; else None.

    k of steam as its choking, Napier's limit.
    """
    if stream.phase == "gas":
        return Adiabatic(stream.temperature, stream.molar_mass, stream.k, stream.Z)
    if stream.phase == "steam":
        if np.any(np.asarray(stream.quality) < 1.0):
            return None
        k = choking_k(stream.temperature)
    elif stream.phase == "real fluid" and stream.inlet_kind == "gas":
        k = stream.state.k
    else:
        return None
    # of temperature and molar mass only R T/M = P/rho counts
    return Adiabatic(stream.pressure / np.asarray(stream.density) / GAS_CONSTANT, 1.0, k)


def _expansion(stream, pieces, W, plain):
    """Stagnation pressure a gas loses as it expands along the line [Pa], NaN for others; steps."""
    gas, loss, steps = _as_gas(stream), 0.0 * plain, []
    if gas is None:
        return np.nan * plain, steps
    k, P1 = np.asarray(gas.k, dtype=float), np.asarray(stream.pressure, dtype=float)
    for run in pieces:
        G, heads, before = np.asarray(W) / run.area, run.heads + run.widening, loss
        y_start = gas.of_total(P1 - before, G)
        left = _fanno(y_start - 1.0, k) - heads
        left = np.where(left >= 0.0, left, np.nan)  # NaN: the line chokes, it can't pass this flow
        y_end = 1.0 + _fanno_inverse(*np.broadcast_arrays(left, k))
        loss = P1 - gas.total(gas.pressure_at(y_end, G), G) + 0.0 * plain
        machs = dict(start_mach=result(y_start**-0.5), exit_mach=result(y_end**-0.5))
        steps += [
            *(step(n, v, source=FANNO + ", found by trial") for n, v in machs.items()),
            step("velocity_heads", result(heads + 0.0 * y_end), FANNO_HEADS, FANNO, **machs,
                 k=gas.k),
            step("expanded_loss", result(loss), EXPANDED, FANNO + ", stagnation pressure",
                 expanded_before=result(before), pressure=stream.pressure, k=gas.k, **machs),
        ]  # fmt: skip
    return loss, steps if np.all(np.isfinite(loss)) else []


def _counted(stream, back_pressure, plain, expanded):
    """Loss that counts: the larger; all that drives the flow where a gas can't pass the line."""
    chokes = np.isnan(expanded) & ~np.isnan(plain) & (_as_gas(stream) is not None)
    all_of_it = stream.pressure - np.asarray(back_pressure, dtype=float) + 0.0 * plain
    return np.fmax(plain, np.where(chokes, all_of_it, expanded))


def _largest_steps(stream, rho, limit, G):
    """Loss coefficient of one bore that loses just the limit [-], and its steps."""
    gas, limit, P1 = _as_gas(stream), np.asarray(limit), np.asarray(stream.pressure, dtype=float)
    plain = 2.0 * rho * limit / np.square(G)
    if gas is None:
        return result(plain), [
            step("largest_K", result(plain), "2*rho*dp_lim/G_p**2", "the loss solved for K, in the "
                 "last bore", density=result(rho), inlet_limit=result(limit), pipe_flux=G)
        ]  # fmt: skip
    y_start, y_end = gas.of_total(P1, G), gas.of_total(P1 - limit, G)
    y_end = np.where(np.isnan(y_end) & ~np.isnan(y_start), 1.0, y_end)  # it chokes before
    k = np.asarray(gas.k, dtype=float)
    K = result(_fanno(y_start - 1.0, k) - _fanno(y_end - 1.0, k) + 0.0 * limit)
    if not np.all(np.isfinite(K)):
        return K, []  # the bore can't pass the flow at all
    machs = dict(start_mach=result(y_start**-0.5), exit_mach=result(y_end**-0.5))
    words = FANNO + ", from the pressure in the vessel to that less the limit, in the last bore"
    return K, [step("largest_K", K, FANNO_HEADS, words, **machs, k=gas.k)]


def _limit_steps(loss, plain, expanded, pset, x, static, valve, stream):
    """Steps from the losses to the fraction of set and the pressure that is left."""
    steps, counted, sign = [], dict(inlet_loss=result(loss)), "dp_in"
    if np.all(np.isfinite(expanded)):
        counted, sign = dict(counted_loss=result(loss)), "dp_c"
        steps.append(step("counted_loss", result(loss), "max(dp_in, dp_exp)",
                          "a gas loses more as it expands: the larger counts",
                          inlet_loss=result(plain), expanded_loss=result(expanded)))  # fmt: skip
    elif np.any(loss > plain):
        steps.append(step("inlet_loss", result(loss), source="the line chokes: it can't pass this "
                          "flow, and all of the pressure counts as lost"))  # fmt: skip
    return [
        *steps,
        step("loss_fraction", result(loss / pset), f"{sign}/pset", SOURCE + ", of gauge set",
             set_pressure_gauge=result(pset), **counted),
        step("valve_pressure", result(valve), f"P1 - {sign} - dp_stat",
             "at the valve's inlet while it relieves", pressure=stream.pressure,
             static_head=result(static), **counted),
    ]  # fmt: skip


# ---- the closed form, and the analysis beyond the rule


def choked_loss_ratio(k, Kd, area_ratio, K):
    """Inlet loss over the relieving pressure, absolute, of a valve that chokes an ideal gas.

    Parameters: k, ideal-gas ratio [-]; Kd [-]; area_ratio, orifice over bore of the line [-]; K of
    the line [-]; arrays broadcast. Returns float or array [-]; it knows neither pressure,
    temperature nor molar mass. Raises InputError for values not above 0 or k not above 1.
    Validity: small loss, density of the relieving state. Source: choked flux of the ideal nozzle in
    the loss K G^2/(2 rho).
    >>> round(choked_loss_ratio(1.4, 0.975, 0.5, 0.75), 7)
    0.0417851
    """
    k, Kd, ratio, K = positive(k=k, Kd=Kd, area_ratio=area_ratio, K=K)
    refuse(k <= 1.0, "k", k, "must be above 1; take the ideal-gas ratio")
    return result(0.5 * K * (Kd * ratio) ** 2 * choked_square(k))


def largest_K(sizing, diameter, letter=None, loss_limit=LOSS_LIMIT):
    """Largest loss coefficient an inlet line of one bore may have for a valve's letter.

    Parameters: sizing; diameter of the line [m]; letter, None for the sizing's; loss_limit as a
    fraction of set [-]; arrays broadcast. Returns float or array [-], entrance and pipe friction
    included; of a gas as it expands. Raises InputError as `check`.
    Source: API 520-II (2020), 7.3, solved for K.
    >>> from relieflib.devices import Device
    >>> from relieflib.nozzle.gas import Gas
    >>> from relieflib.sizing import ReliefLoad, size
    >>> load = ReliefLoad("closed_outlet", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0,
    ...                                                      k=1.11, Z=0.90))
    >>> round(largest_K(size(load, Device(set_pressure_gauge=517e3)), 0.10226), 3)
    0.435
    """
    stream, device = sizing.load.stream, sizing.device
    D, x = positive(diameter=diameter, loss_limit=loss_limit)
    W = installed(sizing)[1]
    if letter is not None:
        area = orifice_area(letter)
        W = rated_flow(stream, device, area, sizing.back_pressure, sizing.edition)
    G = np.asarray(W) / (0.25 * np.pi * D**2)
    limit = result(x * device._set() + 0.0 * G)
    return _largest_steps(stream, np.asarray(stream.density), limit, result(G))[0]


@dataclass(frozen=True)
class InletAnalysis:
    """Loss against blowdown, and against the pressure wave of an opening valve; all [Pa] and [m].

    available, blowdown less margin; wave, deepest dip of pressure at the valve as it opens;
    acoustic_length, the longest line that keeps loss and wave below what is available; verdict.
    """

    loss: float
    available: float
    wave: float
    acoustic_length: float
    verdict: str
    working: Working


def engineering_analysis(check, blowdown, opening_time, sound_speed=None,
                         blowdown_margin=BLOWDOWN_MARGIN):  # fmt: skip
    """Loss against blowdown, for a line that breaks the rule: may the valve stay open all the same.

    Parameters: check, an `InletCheck`; blowdown, as a fraction of set [-]; opening_time of the
    valve [s]; sound_speed in the line [m/s], None for that of the gas; blowdown_margin kept, as a
    fraction of set [-]; arrays broadcast. Returns `InletAnalysis`. Raises InputError for values not
    above 0, a margin above the blowdown, or no sound speed for what is no gas.
    Validity: flow rises evenly while the valve opens; a vessel that keeps its pressure. The line
    passes when loss and wave together stay below the blowdown less the margin. It shows whether
    the valve is likely to reseat at once, not what its maker knows: ask.
    Source: engineering analysis of API 520-II (2020), 7.3.6; water hammer of a line fed by a
    reservoir: dp = G c min(1, 2 L/(c t)); the margin is common practice, no source.
    """
    bd, t, margin = positive(
        blowdown=blowdown, opening_time=opening_time, blowdown_margin=blowdown_margin
    )
    refuse(margin >= bd, "blowdown_margin", margin, "must be below the blowdown")
    c = positive(sound_speed=_sound_speed(check.sizing.load.stream, sound_speed))
    pset, L = check.sizing.device._set(), np.asarray(check.line.length, dtype=float)
    G = np.asarray(check.mass_flow) / np.asarray(check.line.parts[-1].share)
    loss = np.asarray(check.value)
    available = (bd - margin) * pset + 0.0 * loss
    wave = G * c * np.minimum(1.0, 2.0 * L / (c * t))
    spare = available - loss
    reach = np.where(spare >= G * c, np.inf, np.maximum(spare, 0.0) * t / (2.0 * G))
    steps = _analysis_steps(bd, margin, pset, available, G, c, L, t, wave, loss, reach)
    return InletAnalysis(result(loss), result(available), result(wave), result(reach),
                         verdict_of(loss + wave, available), steps)  # fmt: skip


def _sound_speed(stream, sound_speed):
    if sound_speed is not None:
        return sound_speed
    gas = _as_gas(stream)
    if gas is None:
        raise InputError("sound_speed: needed for a stream that is no gas")
    return gas.k * gas.c


def _analysis_steps(bd, margin, pset, available, G, c, L, t, wave, loss, reach):
    steps = [
        step("blowdown_pressure", result(available), "(bd - x_mar)*pset",
             "API 520-II (2020), 7.3.6; margin: common practice, no source", blowdown=result(bd),
             blowdown_margin=result(margin), set_pressure_gauge=result(pset)),
        step("wave_pressure", result(wave), "G_p*c_s*min(1, 2*L/(c_s*t_o))",
             "water hammer of a line fed by a reservoir", pipe_flux=result(G),
             sound_speed=result(c), length=result(L), opening_time=result(t)),
    ]  # fmt: skip
    if np.all(np.isfinite(reach)):
        steps.append(step("acoustic_length", result(reach), "max(dp_bd - dp_in, 0)*t_o/(2*G_p)",
                          "longest line: the wave solved for L",
                          blowdown_pressure=result(available),
                          inlet_loss=result(loss), opening_time=result(t),
                          pipe_flux=result(G)))  # fmt: skip
    return Working(steps)
