"""One row of a datasheet sized again from its own inputs: pressures, load, device, area."""

from dataclasses import dataclass, field

from relieflib import rules
from relieflib.cause_words import fire_in
from relieflib.datasheet import fluids
from relieflib.datasheet.columns import COLUMNS, Cell, shown_in
from relieflib.devices import DISK_UPSTREAM, KD, Device
from relieflib.errors import InputError, ValidityNoted
from relieflib.kinds import DISPLAY
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.steam import Steam, saturation_temperature
from relieflib.nozzle.two_phase import TwoPhase, omega_from_90, omega_subcooled
from relieflib.orifices import orifice_area
from relieflib.properties import State, saturation_pressure
from relieflib.sizing import ReliefLoad, size
from relieflib.symbols import SYMBOLS
from relieflib.units import units_of
from relieflib.valve_questions import accumulation_of, installation_of, kept, relieving_allowed

WATER_CLOSE, WATER_HOTTEST = 0.02, 640.0  # of density; K, short of its critical temperature
PRESSURE_CLOSE = 2e-3  # of the relieving pressure: 14.7 for 14.696 psi, rounded gauge pressures


class _once:
    """A property that is found once: `functools.cached_property` less its lock.

    Its lock takes longer, in Python 3.11, than most of what is found; a case is of one thread.
    """

    def __init__(self, find):
        self.find, self.name, self.__doc__ = find, find.__name__, find.__doc__

    def __get__(self, case, owner=None):
        if case is None:
            return self
        found = case.__dict__[self.name] = self.find(case)
        return found


@dataclass
class Case:
    """A row with what sizing makes of it; trouble says in words why there is no sizing.

    fire, True, False, or None where the words of its cause do not decide; fluid, its name as
    CoolProp writes it, or None; fluid_trouble, words where the name or composition is not known;
    flow, the phase by which it is sized: 'two-phase' for a liquid that flashes on its way.
    """

    row: object
    fire: bool | None = False
    fluid: str | None = None
    fluid_trouble: str = ""
    flow: str = ""
    highest_gauge: float | None = None
    pressure: float | None = None
    pressure_basis: str = ""
    back_pressure: float | None = None
    inputs: dict = field(default_factory=dict)
    sizing: object = None
    trouble: str = ""
    assumed: list = field(default_factory=list)
    search: bool = True
    _units: dict = field(default_factory=dict)
    _shown_as: dict = field(default_factory=dict)
    _kept: object = None

    @property
    def sized(self):
        """True where the row could be sized."""
        return self.sizing is not None

    @property
    def said(self):
        """What was assumed, as a tuple of sentences."""
        return tuple(self.assumed)

    @_once
    def factors(self):
        """Factors of the sizing by name, None for those that it has not."""
        own = self.sizing.factors if self.sizing else {}
        return _NO_FACTORS | {name: float(value) for name, value in own.items()}

    @_once
    def required(self):
        """Required area of one valve [m2], None where it can't be recomputed."""
        return self.sizing.required_area if self.sizing else None

    @property
    def steam_temperature(self):
        """Temperature by which steam is sized [K], None for saturated steam and all else."""
        return self.inputs.get("temperature") if self.flow == "steam" else None

    @_once
    def letter(self):
        """Letter of the row, from its column or its designation."""
        named = self.row.get("designation")
        return self.row.get("letter") or (named.letter if named else None)

    @_once
    def kind(self):
        """Kind of device, conventional when not said."""
        return self.row.get("device_type", "conventional")

    @_once
    def code(self):
        """Code whose limits judge, ASME VIII when not said."""
        return self.row.get("code", "ASME VIII")

    @_once
    def installation(self):
        """As said; else several valves where the row counts or names more than the first."""
        valves, role = self.row.get("valves", 1.0), self.row.get("role", "first")
        return self.row.get("installation") or installation_of(valves, role)

    @_once
    def actual_area(self):
        """Actual area of the valve [m2]: as said, or an orifice area that is not its letter's."""
        area = self.row.get("actual_area") or self.row.get("orifice_area")
        if area and self.letter and abs(area / orifice_area(self.letter) - 1) <= 0.01:
            return None
        return area

    @_once
    def basis(self):
        """'effective' or 'certified': as said, else by Kd and the area beside it."""
        said, Kd = self.row.get("basis"), self.row.get("Kd")
        if said:
            return said
        if not self.letter:  # an area that no letter of the standard stands for
            return "certified" if self.actual_area and self.certified_K else "effective"
        return "certified" if self.actual_area and Kd and not self.effective_Kd(Kd) else "effective"

    @_once
    def certified_K(self):
        """Coefficient that a code may certify: of its column, or a Kd that is no effective one."""
        Kd, K = self.row.get("Kd"), self.row.get("Kd_certified")
        if K or self.kind == "disk":
            return K
        known = Kd and (self.effective_Kd(Kd) or Kd in KD.values())
        return Kd if Kd and not known and kept(Kd, rules.CERTIFIED_KD.value) else None

    def effective_Kd(self, Kd):
        """True where a Kd is the standard's effective one for the phase, as printed."""
        cell = self.row.cells.get("Kd")
        return abs(Kd - self.standard_Kd) <= max(cell.half if cell else 0.0, 5e-4) + 1e-9

    @_once
    def standard_Kd(self):
        """Kd of API 520-I for the phase and kind of device."""
        if self.kind == "disk":
            return KD["disk"]
        phase = self.flow or self.row.get("phase", "gas")
        if phase == "two-phase" and self.inputs.get("saturation_pressure"):
            phase = "subcooled"
        loose = phase == "liquid" and self.row.get("certified") is False
        return KD["liquid, not certified" if loose else phase]

    @_once
    def installed(self):
        """Area of one valve as chosen [m2]: the letter's, or the actual one on its own basis."""
        own = self.row.get("orifice_area") or self.row.get("actual_area")
        if self.basis == "certified" and self.actual_area:
            return self.actual_area
        if own and (self.basis == "certified" or not self.letter):
            return own
        return orifice_area(self.letter) if self.letter else None

    def in_sheet(self, name, value, kind=None):
        """(number, unit) of an SI value, in the unit the row uses for the column."""
        at = self._shown_as.get((name, kind)) or self._shown(name, kind)
        return shown_in(value, *at, self.row.atmosphere), at[0]

    def shares(self, kept):
        """Ask what is kept of rows of this form; show numbers in the units found once for all."""
        self._units, self._shown_as, self._kept = kept.units, kept.shown_as, kept

    def found(self, function):
        """What a function finds in the case, where rows of its form show all it reads the same."""
        return self._kept.found(function, self) if self._kept else function(self)

    def _shown(self, name, kind):
        """(unit, kind) in which the row shows a column, found once."""
        cell, asked = self.row.cells.get(name), kind
        if cell and cell.kind != "text" and (kind is None or kind == cell.kind):
            unit, kind = cell.unit, cell.kind
        else:
            kind = kind or (SYMBOLS[name].kind if name in SYMBOLS else COLUMNS[name].kinds[0])
            unit = self._usual_unit(kind)
        self._shown_as[name, asked] = unit, kind
        return unit, kind

    def half(self, name):
        """Half of the last printed digit of a cell, in the sheet's unit."""
        cell = self.row.cells.get(name)
        if cell is None or not cell.half:
            return 0.0
        return abs(
            self.in_sheet(name, cell.value + cell.half)[0] - self.in_sheet(name, cell.value)[0]
        )

    def _usual_unit(self, kind):
        """Unit the row uses for this kind of quantity elsewhere, else that of its set of units."""
        if kind not in self._units:
            cells = self.row.cells.values()
            same = next((c.unit for c in cells if c.kind == kind), None)
            end = _PRESSURE_ENDS.get(kind)
            if same is None and end is not None:
                other = next(
                    (c for c in cells if c.kind in _PRESSURE_ENDS and c.unit != "Pa"), None
                )
                same = other and other.unit.removesuffix("g").removesuffix("a") + end
                same = same if other and same in units_of(kind) else None
            us = any(c.unit.startswith("psi") for c in cells)
            self._units[kind] = same or DISPLAY[kind][us]
        return self._units[kind]


_NO_FACTORS = dict.fromkeys(("Kd", "Kb", "Kw", "Kc", "Kv", "Kp"))
_PRESSURE_ENDS = {"pressure": "a", "gauge pressure": "g", "pressure difference": ""}


def recompute(row, kept=None):
    """Size a row again from its own inputs.

    Parameters: row, `datasheet.Row`; kept, `remembered.Kept` of rows of its form, or None. Returns
    `Case`; `trouble` holds one sentence where the inputs do not suffice or are impossible, never
    an exception. Sources: as `sizing.size`; relieving pressure by API 520-I (2020), 5.4.
    """
    case = Case(row, fire=fire_in(row.get("cause")), flow=row.get("phase", ""))
    case.fluid, case.fluid_trouble = fluids.fluid_of(row)
    if kept is not None:
        case.shares(kept)
    at = case.found(_pressures)
    case.highest_gauge, case.pressure, case.pressure_basis = at.highest_gauge, at.pressure, at.words
    case.back_pressure, case.trouble, case.assumed = at.back, at.trouble, list(at.assumed)
    if not at.trouble:
        _sized(case, at.warned)
    for name in _BY_FLOW:
        case.__dict__.pop(name, None)
    return case


def _sized(case, warned):
    """Size a case at its pressures, with what was warned of before."""
    try:
        _need(case.row, "phase", "load")
        frame = case.found(_framed)
        case.inputs, case.flow = dict(frame.inputs), frame.flow
        case.assumed += frame.assumed
        if frame.trouble:
            raise InputError(frame.trouble)
        with ValidityNoted() as noted:
            _for_its_load(case, frame)
        own = [*warned, *frame.warned, *noted, *frame.warned_last]
        case.assumed += dict.fromkeys(own)
    except InputError as error:
        case.trouble = str(error)


def _for_its_load(case, frame):
    """The sizing for the row's own load."""
    case.inputs["mass_flow"] = mass_flow_of(case, case.row.cells["load"])
    if case.inputs["mass_flow"] == 0:
        raise InputError("load is 0: nothing to size")
    if frame.no_sizing:
        raise InputError(frame.no_sizing)
    case.sizing = frame.sizing.with_flow(case.inputs["mass_flow"] / case.inputs["valves"])


@dataclass
class _Frame:
    """All of a sizing but its load: the same for rows that differ in it alone.

    inputs without the load; sizing of 1 kg/s; what was warned of by the inputs, and after them;
    trouble of the inputs, no_sizing of the equation.
    """

    inputs: dict = field(default_factory=dict)
    flow: str = ""
    assumed: list = field(default_factory=list)
    warned: list = field(default_factory=list)
    warned_last: list = field(default_factory=list)
    trouble: str = ""
    no_sizing: str = ""
    sizing: object = None


def _framed(case):
    """`_Frame` of a case at its pressures."""
    own, frame = Case(case.row, case.fire, case.fluid, flow=case.flow), _Frame()
    own.pressure, own.back_pressure = case.pressure, case.back_pressure
    with ValidityNoted() as noted:
        try:
            _inputs(own)
        except InputError as error:
            frame.trouble = str(error)
        else:
            _size(own, frame, noted)
    frame.inputs, frame.flow, frame.assumed = own.inputs, own.flow, own.assumed
    return frame


# found anew once the flow and the sizing are known
_BY_FLOW = ("standard_Kd", "certified_K", "basis", "installed", "required")


def _need(row, *names):
    row.usable(*names)
    missing = [f"'{COLUMNS[n].heading}'" for n in names if row.get(n) is None]
    if missing:
        raise InputError(f"{' and '.join(missing)} not given")


@dataclass
class _At:
    """Pressures of a case, words for the basis, what was assumed and warned of, trouble."""

    highest_gauge: float | None = None
    pressure: float | None = None
    words: str = ""
    back: float | None = None
    assumed: list = field(default_factory=list)
    warned: list = field(default_factory=list)
    trouble: str = ""


def _pressures(case):
    """Relieving and back pressure of a case, as `_At`."""
    at = _At()
    try:
        with ValidityNoted() as at.warned:
            _work_out(case, at)
    except InputError as error:
        at.trouble = str(error)
    return at


def _work_out(case, at):
    """The sheet's own basis, never above what the code allows."""
    row = case.row
    row.usable(
        "mawp_gauge",
        "set_pressure_gauge",
        "overpressure_fraction",
        "accumulation",
        "installation",
        "cause",
        "code",
    )
    mawp, set_gauge = row.get("mawp_gauge"), row.get("set_pressure_gauge")
    base, frame = mawp or set_gauge, (case.installation, case.fire)
    limit = base and base + accumulation_of(case.code, base, case.installation, bool(case.fire))[0]
    at.highest_gauge = limit if mawp else None
    gauge, words = _own_basis(case, limit)
    capped = mawp or row.get("accumulation") is not None
    above = limit and gauge and not relieving_allowed(gauge, base, *frame, code=case.code).holds
    if capped and above:
        gauge, words = limit, "the highest the code allows; the sheet's own basis is above it"
    at.pressure = None if gauge is None else gauge + row.atmosphere
    at.words = words
    at.back = _back_pressure(row, at.assumed)


def _own_basis(case, limit):
    row = case.row
    set_gauge, mawp = row.get("set_pressure_gauge"), row.get("mawp_gauge")
    over, accumulation = row.get("overpressure_fraction"), row.get("accumulation")
    stated = row.get("relieving_pressure")
    if over is not None and set_gauge:
        return set_gauge * (1 + over), "set pressure and the overpressure allowed"
    own = _over_set(case, limit)
    if own is not None:
        return own, "set pressure and what is allowed above it"
    if accumulation is not None and (mawp or set_gauge):
        base = mawp or set_gauge
        usual, least = rules.SINGLE.value, rules.SINGLE_FLOOR
        low = case.code == "ASME VIII" and least.value > usual * base
        if low and abs(accumulation - usual) < 1e-9:
            words = f"the {least.number} that replace {rules.SINGLE.number}"
            return base + least.value, f"mawp and {words} of a low pressure"
        return base * (1 + accumulation), f"{'mawp' if mawp else 'set pressure'} and accumulation"
    if mawp:
        return limit, "mawp and the accumulation the code allows"
    if stated:
        return stated - row.atmosphere, "as stated: no mawp or overpressure to work it out from"
    return limit, "set pressure taken for mawp, and the accumulation the code allows"


def _over_set(case, limit):
    """Relieving pressure [Pa gauge] of a sheet that counts from set and not from MAWP, or None.

    The code limits it above MAWP; a valve set lower may be sized at its own set and the same share
    above it, which asks the larger area: ordinary practice, told by the pressure that is stated.
    """
    row = case.row
    set_gauge, stated = row.get("set_pressure_gauge"), row.get("relieving_pressure")
    mawp = row.get("mawp_gauge")
    if not (set_gauge and stated and limit) or (mawp and set_gauge >= mawp):
        return None
    rises = [accumulation_of(case.code, set_gauge, case.installation, fire)[0]
             for fire in {False, bool(case.fire)}]  # fmt: skip
    rises.append(accumulation_of(case.code, set_gauge)[0])
    if row.get("accumulation") is not None:
        rises.append(row.get("accumulation") * set_gauge)
    own = [set_gauge + rise for rise in rises]
    near = [gauge for gauge in own if kept(gauge, limit)
            and abs(stated - row.atmosphere - gauge) <= PRESSURE_CLOSE * stated]  # fmt: skip
    return near[0] if near else None


def _back_pressure(row, assumed):
    row.usable("back_pressure", "superimposed_gauge", "variable_gauge", "built_up")
    total = row.get("back_pressure")
    if total is not None:
        return total
    parts = parts_of_back_pressure(row)
    if parts is None:
        assumed.append("no back pressure given: atmosphere taken")
    return row.atmosphere + (parts or 0.0)


def parts_of_back_pressure(row):
    """Sum of the parts of the back pressure [Pa gauge], None where none is given.

    Parameters: row. Returns float or None.
    """
    parts = [row.get(n) for n in ("superimposed_gauge", "variable_gauge", "built_up")]
    return None if all(p is None for p in parts) else sum(p or 0.0 for p in parts)


def _inputs(case):
    """Inputs of the sizing by their names in the table of symbols."""
    row = case.row
    row.usable("device_type")  # a disk or a bellows is no conventional valve
    if not case.pressure:
        raise InputError("relieving pressure can't be worked out: give mawp or set pressure")
    phase = row.get("phase")
    case.inputs = {
        "pressure": case.pressure,
        "back_pressure": case.back_pressure,
        "atmosphere": row.atmosphere,
        "valves": row.get("valves", 1.0),
        "set_pressure_gauge": row.get("set_pressure_gauge"),
        "mawp_gauge": row.get("mawp_gauge"),
        "Kd": _certified_Kd(case) if case.basis == "certified" else None,
        "Kb": None,
        "Kw": None,
        "Kc": _disk_factor(row),
        **_FLUID[phase](case),
    }
    row.usable("valves")


def _certified_Kd(case):
    """The certified coefficient of a row: beside no letter its own column goes before 'Kd'."""
    own = case.row.get("Kd")
    return own if own and (case.letter or case.row.get("basis")) else case.certified_K or own


def _disk_factor(row):
    row.usable("disk_upstream", "Kc")
    stated, disk = row.get("Kc"), row.get("disk_upstream")
    if row.get("device_type") == "disk" or disk is False:
        return 1.0
    if disk is None:
        return stated or 1.0
    return stated if stated and DISK_UPSTREAM < stated < 1.0 else DISK_UPSTREAM


def _gas(case):
    row, names = case.row, ("temperature", "molar_mass", "k")
    row.usable(*names, "Z")
    own = _of_fluid(case)
    _need(row, *(n for n in names if n not in own))
    found = {n: row.get(n, own.get(n)) for n in names} | {"Z": row.get("Z", own.get("Z", 1.0))}
    if row.get("Z") is None and "Z" not in own:
        case.assumed.append("Z not given: 1 taken")
    taken = [n for n in ("molar_mass", "k", "Z") if row.get(n) is None and n in own]
    if taken:
        words = ", ".join(f"{COLUMNS[n].heading} {own[n]:.4g}" for n in taken)
        case.assumed.append(f"not given, taken from {case.fluid}: {words}")
    return found


def _of_fluid(case):
    """Molar mass, k and Z of a named fluid, only where the row leaves one out."""
    row, T = case.row, case.row.get("temperature")
    missing = any(row.get(n) is None for n in ("molar_mass", "k", "Z"))
    if case.fluid is None or T is None or not missing:
        return {}
    found = fluids.gas_state(case.fluid, case.pressure, T)
    if isinstance(found, str) or found.is_liquid:
        return {}
    return {"molar_mass": found.molar_mass, "k": found.k, "Z": found.Z}


def _steam(case):
    row = case.row
    row.usable("temperature", "quality")
    T = row.get("temperature")
    near = T and abs(T - saturation_temperature(case.pressure)) < _near_saturation(row)
    return {"temperature": None if near else T, "quality": row.get("quality", 1.0)}


def _near_saturation(row):
    return 0.5 + row.cells["temperature"].half


def _liquid(case):
    row = case.row
    row.usable("saturation_pressure", "temperature", "omega", "density_90")
    Ps = vapour_pressure(case)
    if Ps is not None and Ps > case.back_pressure:
        return _flashing(case, Ps)
    if Ps is None:
        case.assumed.append("vapour pressure not given: taken as a liquid that does not boil")
    row.usable("viscosity", "certified")
    density = _liquid_density(case)
    viscosity, cell = row.get("viscosity"), row.cells.get("viscosity")
    if cell and cell.kind == "kinematic viscosity":
        viscosity = viscosity * density
    return {"density": density, "viscosity": viscosity}


def _liquid_density(case):
    """Density of a liquid row, that of a named fluid where it is left out."""
    row, T = case.row, case.row.get("temperature")
    if row.get("density") is None and "density" not in row.unreadable and case.fluid and T:
        found = fluids.state(case.fluid, case.pressure, T)
        if not isinstance(found, str) and found.is_liquid:
            words = f"density not given: {found.density:.4g} kg/m3 of {case.fluid} taken"
            case.assumed.append(words)
            return found.density
    _need(row, "density")
    return row.get("density")


def vapour_pressure(case):
    """Vapour pressure of a row's liquid [Pa]: stated, of its fluid, or of what can only be water.

    Parameters: case. Returns float, None where nothing tells.
    """
    row, T = case.row, case.row.get("temperature")
    Ps = row.get("saturation_pressure")
    if Ps is None and case.fluid and T:
        found = fluids.vapour_pressure(case.fluid, T)
        return None if isinstance(found, str) else found
    if Ps is None and not case.fluid and _is_water(T, row.get("density"), case.back_pressure):
        return saturation_pressure("Water", T)
    return Ps


def _flashing(case, Ps):
    """A liquid that boils on its way: by omega, or as the real fluid that is named."""
    row = case.row
    if Ps <= case.pressure and any(row.get(n) for n in ("omega", "density_90")):
        row.usable("density")
        _need(row, "density")
        case.flow = "two-phase"
        omega = row.get("omega") or omega_subcooled(row.get("density"), row.get("density_90"))
        return {"density": row.get("density"), "omega": omega, "saturation_pressure": Ps}
    if case.fluid and row.get("temperature") and Ps <= case.pressure:
        case.flow, case.search = "two-phase", False  # the real fluid takes long to vary
        return {"fluid": case.fluid, "temperature": row.get("temperature"),
                "density": row.get("density"), "saturation_pressure": Ps}  # fmt: skip
    if Ps > case.pressure:
        raise InputError(
            f"it boils at the inlet already: vapour pressure {Ps / 1e5:.4g} bara, relieving "
            f"pressure {case.pressure / 1e5:.4g} bara. No liquid stands there: two-phase or vapour"
        )
    raise InputError(
        f"the liquid boils on its way: vapour pressure {Ps / 1e5:.4g} bara, back pressure "
        f"{case.back_pressure / 1e5:.4g} bara. It takes the equation of a flashing liquid (API "
        "520-I, Annex C): give omega or the density after a flash, or name the fluid"
    )


def _two_phase(case):
    """Two-phase at the inlet: omega stated or from the volume after a flash, or the real fluid."""
    row = case.row
    names = ("omega", "specific_volume", "specific_volume_90", "density", "density_90", "quality")
    row.usable(*names, "saturation_pressure", "temperature")
    density = row.get("density") or (
        row.get("specific_volume") and 1.0 / row.get("specific_volume")
    )
    Ps, v9 = row.get("saturation_pressure"), row.get("specific_volume_90")
    subcooled = Ps if Ps and Ps < case.pressure and not row.get("quality") else None
    omega = row.get("omega")
    if omega is None and density and v9:
        omega = omega_from_90(1.0 / density, v9)
    if omega is None and density and row.get("density_90"):
        after = row.get("density_90")
        omega = (omega_subcooled(density, after) if subcooled
                 else omega_from_90(1.0 / density, 1.0 / after))  # fmt: skip
    if omega is not None and density:
        return {"density": density, "omega": omega, "saturation_pressure": subcooled}
    if case.fluid and (row.get("quality") is not None or row.get("temperature")):
        case.search = False  # the real fluid takes long to vary
        second = {"quality": row.get("quality")}
        if row.get("quality") is None:
            second = {"temperature": row.get("temperature"), "saturation_pressure": subcooled}
        return {"fluid": case.fluid, "density": density} | second
    raise InputError(
        "two-phase flow takes the density at the inlet with omega or with the volume after a flash "
        "to 90 % of the pressure, or a fluid by name with its quality: not given"
    )


def _is_water(T, density, back_pressure):
    """True for a density of liquid water, to 2 %, at a temperature at which that would boil."""
    if T is None or not saturation_temperature(back_pressure) < T < WATER_HOTTEST:
        return False
    water = State("Water", saturation_pressure("Water", T), quality=0.0).density
    return abs(density / water - 1) < WATER_CLOSE


_FLUID = {"gas": _gas, "steam": _steam, "liquid": _liquid, "two-phase": _two_phase}


def mass_flow_of(case, cell):
    """Load or capacity in kg/s; volume by the density at the inlet, standard volume by M.

    Parameters: case; cell, `Cell` of a flow. Returns float. Raises InputError where density or M
    is not given.
    """
    if cell.kind == "mass flow":
        return cell.value
    if cell.kind == "standard volume flow":
        _need(case.row, "molar_mass")
        return cell.value * case.row.get("molar_mass")
    return cell.value * density_of(case)


def flow_in(case, mass_flow, kind):
    """A mass flow [kg/s] as another kind of flow [SI]; the inverse of `mass_flow_of`.

    Parameters: case; mass_flow; kind. Returns float. Raises InputError as `mass_flow_of`.
    """
    return mass_flow / mass_flow_of(case, Cell(1.0, "", kind=kind))


def density_of(case):
    """Density at the inlet [kg/m3] from the row's inputs; InputError where it needs a table.

    Parameters: case. Returns float.
    """
    if case.row.get("phase") == "gas":
        i = case.inputs
        if not i:
            raise InputError("needs the gas's pressure, temperature, M, k and Z")
        return Gas(
            i["pressure"], i["temperature"], molar_mass=i["molar_mass"], k=i["k"], Z=i["Z"]
        ).density
    density = case.row.get("density") or case.inputs.get("density")
    if density is None and case.row.get("specific_volume"):
        density = 1.0 / case.row.get("specific_volume")
    if density is None and case.inputs.get("fluid"):
        density = _stream(case.inputs, "two-phase").density
    if density is None:
        _need(case.row, "density")
    return density


def _size(case, frame, noted):
    """The sizing of 1 kg/s into the frame, or words why there is none."""
    row, early = case.row, []
    try:
        if case.back_pressure >= case.pressure:
            raise InputError("back pressure is not below the relieving pressure: no flow")
        fixed = frame_of(case)
        one = case.inputs | {"mass_flow": 1.0, "valves": 1.0}
        try:
            stream, device = _stream_and_device(one, **fixed)
            early = list(noted)
            frame.sizing = _size_of(one, stream, device, fixed["edition"])
        except InputError as error:
            name = "Kw" if fixed["phase"] == "liquid" else "Kb"
            if case.kind != "balanced" or row.get(name) is None or "curve" not in str(error):
                raise
            case.inputs[name] = one[name] = row.get(name)
            frame.sizing = size_inputs(one, **fixed)
            words = f"the typical curve does not reach so far: the sheet's {name} taken"
            case.assumed.append(words)
    except InputError as error:
        frame.no_sizing = str(error)
    frame.warned, frame.warned_last = early, noted


def frame_of(case):
    """What stays the same when a row's inputs vary: words for `size_inputs`.

    Parameters: case. Returns dict.
    """
    edition, certified = case.row.get("edition", 10), case.row.get("certified", True)
    return dict(phase=case.flow, kind=case.kind, edition=edition, certified=certified)


def size_inputs(inputs, phase, kind="conventional", edition=10, certified=True):
    """`Sizing` of inputs by their names; what the slip finder varies.

    Parameters: inputs, dict in SI: pressure, back_pressure, mass_flow, valves, atmosphere, Kd,
    Kb, Kw, Kc, set_pressure_gauge and the fluid's; phase 'gas', 'steam', 'liquid' or 'two-phase';
    kind, edition, certified as `Device`. Returns `Sizing` of one valve. Raises InputError as
    `size`.
    """
    return _size_of(inputs, *_stream_and_device(inputs, phase, kind, edition, certified), edition)


def _stream_and_device(inputs, phase, kind, edition, certified):
    i, stream = inputs, _stream(inputs, phase, edition)
    factors = {n: i[n] for n in ("Kd", "Kb", "Kw", "Kc")}
    device = Device(
        kind, i["set_pressure_gauge"], **factors, certified=certified, atmosphere=i["atmosphere"]
    )
    return stream, device


def _size_of(inputs, stream, device, edition):
    load = ReliefLoad("datasheet", inputs["mass_flow"] / inputs["valves"], stream)
    return size(load, device, inputs["back_pressure"], edition)


def _stream(inputs, phase, edition=10):
    """The stream of inputs by their names, as `size_inputs` takes them."""
    i = inputs
    if phase == "gas":
        return Gas(i["pressure"], i["temperature"], molar_mass=i["molar_mass"], k=i["k"], Z=i["Z"])
    if phase == "steam":
        return Steam(i["pressure"], i["temperature"], quality=i["quality"], edition=edition)
    if phase == "liquid":
        return Liquid(i["pressure"], i["density"], viscosity=i["viscosity"])
    if i.get("fluid"):
        second = {n: i[n] for n in ("temperature", "quality") if i.get(n) is not None}
        return RealFluid(i["fluid"], i["pressure"], **second)
    return TwoPhase(i["pressure"], i["density"], omega=i["omega"],
                    saturation_pressure=i.get("saturation_pressure"))  # fmt: skip
