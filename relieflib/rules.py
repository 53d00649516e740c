"""Every limit of a code or of common practice, once: name, value, what it is for, clause.

Whoever needs a limit asks here, and so do the words that tell it: '3 % allowed' is made from the
value. `seen` says how well the source is known: 'read' in the text named or in a print of it,
'from memory', or 'practice', where the trade does so and no standard says it. Old clause numbers
of VIII-1 are kept beside BPVC XIII, where these rules stand now.
"""

from dataclasses import dataclass
from functools import cached_property

from relieflib.units import to_si

READ, MEMORY, PRACTICE = "read", "from memory", "practice"
BPVC = "ASME BPVC XIII (2021)"
BPVC_I, ISO_VALVES = "ASME BPVC I (2001)", "ISO 4126-1:2013 with amendment 1 (2016)"
API_520_1, API_520_2, API_521 = "API 520-I (2020)", "API 520-II (2020)", "API 521 (2020)"
NONE = "common practice, no source"


@dataclass(frozen=True)
class Rule:
    """One limit: name, value in SI, kind, what it is for, document with its edition, clause, seen.

    kind 'fraction' (of what `of` says), 'number', or a kind of quantity as in `units`; printed, the
    document's own number.
    >>> print(INLET_LOSS.number, INLET_LOSS.of, "-", CERTIFIED.number, "or", CERTIFIED_FLOOR.number)
    3 % of set - 10 % or 3 psi
    """

    name: str
    value: float
    of: str
    document: str
    clause: str = ""
    seen: str = READ
    kind: str = "fraction"
    printed: str = ""

    @property
    def number(self):
        """The value as the document prints it: '3 %', '3 psi'."""
        return self.printed or f"{100 * self.value:g} %"

    @cached_property
    def source(self):
        """Document, edition and clause."""
        memory = "from memory" if self.seen == MEMORY else ""
        return ", ".join(part for part in (self.document, self.clause, memory) if part)

    def __str__(self):
        return f"{self.name}: {self.number} {self.of} ({self.source})"


def _measure(name, number, unit, kind, of, document, clause="", seen=READ):
    value = to_si(number, unit, kind)
    return Rule(name, value, of, document, clause, seen, kind, f"{number:g} {unit}")


_ACCUMULATION, _SET = "formerly VIII-1 UG-125(c); API 520-I (2020), 5.4", "formerly VIII-1 UG-134"
_DP = "pressure difference"

# ---- how far above MAWP a vessel may rise while its valves relieve
SINGLE = Rule("accumulation, one valve", 0.10, "of MAWP", BPVC, _ACCUMULATION)
MULTIPLE = Rule("accumulation, several valves", 0.16, "of MAWP", BPVC, _ACCUMULATION)
FIRE = Rule("accumulation in fire", 0.21, "of MAWP", BPVC, _ACCUMULATION)
# ASME prints the floors as 20 and 30 kPa, API as 21 and 28 kPa: the psi figure rules here
SINGLE_FLOOR = _measure("accumulation, one valve, at least", 3.0, "psi", _DP, "above MAWP", BPVC,
                        _ACCUMULATION)  # fmt: skip
MULTIPLE_FLOOR = _measure("accumulation, several valves, at least", 4.0, "psi", _DP, "above MAWP",
                          BPVC, _ACCUMULATION)  # fmt: skip
EUROPEAN = Rule("momentary rise, European", 0.10, "of PS", "2014/68/EU", "annex I, 7.3", MEMORY)
BOILER = Rule("accumulation, boiler", 0.06, "of MAWP", BPVC_I, "PG-67.2", MEMORY)

# ---- how high a valve may be set, and how exactly it opens
FIRST_SET = Rule("highest set, first valve", 1.00, "of MAWP", BPVC, _SET + "(a)")
ADDITIONAL_SET = Rule("highest set, additional valve", 1.05, "of MAWP", BPVC, _SET + "(a)")
FIRE_SET = Rule("highest set, supplement for fire", 1.10, "of MAWP", BPVC, _SET + "(b)")
SET_TOLERANCE = Rule("set tolerance above the low range", 0.03, "of set", BPVC, _SET + "(d)")
LOW_TOLERANCE = _measure("set tolerance, low set", 2.0, "psi", _DP, "of set", BPVC, _SET + "(d)")
LOW_SET = _measure("set up to which the low tolerance holds", 70.0, "psi", _DP, "gauge", BPVC,
                   _SET + "(d)")  # fmt: skip
FIRE_TOLERANCE = Rule("set tolerance of a valve for fire alone, upwards", 0.10, "of set", BPVC,
                      _SET + "(d)")  # fmt: skip
BOILER_SET = Rule("highest set, additional valve of a boiler", 1.03, "of MAWP", BPVC_I, "PG-67.3")
EUROPEAN_SET = Rule("highest set, additional valve, European", 1.05, "of PS", "EN 764-7:2002",
                    "6.1", MEMORY)  # fmt: skip
# boilers: 2 psi up to 70 psi, 3 % up to 300, 10 psi up to 1000, 1 % above
BOILER_TOLERANCE = Rule("set tolerance of a boiler's valve, middle range", 0.03, "of set", BPVC_I,
                        "PG-72.2")  # fmt: skip
BOILER_MIDDLE = _measure("set from which a boiler's valve keeps 10 psi", 300.0, "psi", _DP, "gauge",
                         BPVC_I, "PG-72.2")  # fmt: skip
BOILER_FIXED = _measure("set tolerance of a boiler's valve, 300 to 1000 psi", 10.0, "psi", _DP,
                        "of set", BPVC_I, "PG-72.2")  # fmt: skip
BOILER_HIGH = _measure("set from which a boiler's valve keeps 1 %", 1000.0, "psi", _DP, "gauge",
                       BPVC_I, "PG-72.2")  # fmt: skip
BOILER_FINE = Rule("set tolerance of a boiler's valve above 1000 psi", 0.01, "of set", BPVC_I,
                   "PG-72.2")  # fmt: skip
ISO_TOLERANCE = Rule("set tolerance, ISO", 0.03, "of set", ISO_VALVES, "operating characteristics")
ISO_TOLERANCE_FLOOR = _measure("set tolerance, ISO, at least", 0.1, "bar", _DP, "of set",
                               ISO_VALVES, "operating characteristics")  # fmt: skip
BLOWDOWN = Rule("blowdown, usual", 0.07, "of set", NONE, seen=PRACTICE)
# boilers: 4 psi up to 66 psi, 6 % up to 250, 15 psi up to 374, 4 % above; no end user's limit
# in later editions, which leave it to the maker's test
BOILER_BLOWDOWN = Rule("blowdown of a boiler's valve, high set", 0.04, "of set", BPVC_I, "PG-72.1")
BOILER_BLOWDOWN_LOW = Rule("blowdown of a boiler's valve, 67 to 250 psi", 0.06, "of set", BPVC_I,
                           "PG-72.1")  # fmt: skip
BOILER_BLOWDOWN_FLOOR = _measure("blowdown of a boiler's valve, at least allowed", 4.0, "psi", _DP,
                                 "of set", BPVC_I, "PG-72.1")  # fmt: skip
BOILER_BLOWDOWN_FIXED = _measure("blowdown of a boiler's valve, 251 to 374 psi", 15.0, "psi", _DP,
                                 "of set", BPVC_I, "PG-72.1")  # fmt: skip
ISO_BLOWDOWN_GAS = Rule("blowdown, ISO, gas and vapour", 0.15, "of set", ISO_VALVES,
                        "operating characteristics")  # fmt: skip
ISO_BLOWDOWN_GAS_FLOOR = _measure("blowdown, ISO, gas, at least allowed", 0.3, "bar", _DP, "of set",
                                  ISO_VALVES, "operating characteristics")  # fmt: skip
ISO_BLOWDOWN_LIQUID = Rule("blowdown, ISO, liquid", 0.20, "of set", ISO_VALVES,
                           "operating characteristics")  # fmt: skip
ISO_BLOWDOWN_LIQUID_FLOOR = _measure("blowdown, ISO, liquid, at least allowed", 0.6, "bar", _DP,
                                     "of set", ISO_VALVES, "operating characteristics")  # fmt: skip
PILOT_MARGIN = Rule("operating margin of a pilot valve", 0.05, "of set", NONE, seen=PRACTICE)
OPERATING_MARGIN = Rule("operating margin", 0.10, "of set", API_520_1,
                        "clause not seen: the usual aim", MEMORY)  # fmt: skip

# ---- at which overpressure a capacity is known
CERTIFIED = Rule("overpressure of a certified capacity", 0.10, "of set", BPVC,
                 "formerly VIII-1 UG-131(c)", MEMORY)  # fmt: skip
CERTIFIED_FLOOR = _measure("overpressure of a certified capacity, at least", 3.0, "psi", _DP,
                           "above set", BPVC, "formerly VIII-1 UG-131(c)", MEMORY)  # fmt: skip
BOILER_CERTIFIED = Rule(
    "overpressure of a boiler valve's capacity", 0.03, "of set", BPVC_I, "PG-69"
)
BOILER_CERTIFIED_FLOOR = _measure("overpressure of a boiler valve's capacity, at least", 2.0, "psi",
                                  _DP, "above set", BPVC_I, "PG-69")  # fmt: skip
ISO_OVERPRESSURE = Rule("overpressure of a certified capacity, ISO", 0.10, "of set", ISO_VALVES,
                        "operating characteristics")  # fmt: skip
ISO_OVERPRESSURE_FLOOR = _measure("overpressure of a certified capacity, ISO, at least", 0.1, "bar",
                                  _DP, "above set", ISO_VALVES,
                                  "operating characteristics")  # fmt: skip
# how much more a certified coefficient with the actual area passes than the effective pair
CERTIFIED_SURPLUS = Rule("certified over effective capacity, gas, at most", 0.10, "of it", NONE,
                         seen=PRACTICE)  # fmt: skip
LIQUID_SURPLUS = Rule("certified over effective capacity, liquid, at most", 0.40, "of it", NONE,
                      seen=PRACTICE)  # fmt: skip
CERTIFIED_KD = Rule("certified coefficient of discharge", 0.9, "of the one measured", BPVC,
                    "formerly VIII-1 UG-131(e)", MEMORY, printed="0.9")  # fmt: skip
LIQUID_FULL_LIFT = Rule("overpressure of full lift, liquid valve not certified", 0.25, "of set",
                        API_520_1, "5.9")  # fmt: skip
DISK_UPSTREAM = Rule("capacity with a disk upstream, not certified together", 0.9,
                     "of the valve alone", API_520_1, "5.11", printed="0.9")  # fmt: skip
DISK_LINE = Rule("flow through a line with a rupture disk that counts", 0.9,
                 "of what the line would pass", API_520_1, "5.11: flow resistance method", MEMORY,
                 printed="0.9")  # fmt: skip
BREATHER_OPEN = Rule("pressure at which a tank's breather is open", 1.2, "of set", NONE,
                     seen=PRACTICE, printed="1.2")  # fmt: skip
EMERGENCY_OPEN = Rule("pressure at which an emergency vent is open", 1.1, "of set", NONE,
                      seen=PRACTICE, printed="1.1")  # fmt: skip

# ---- a rupture disk, and the valve behind it
BURST_TOLERANCE = Rule(
    "burst tolerance", 0.05, "of marked burst", BPVC, "formerly VIII-1 UG-127(a)"
)
LOW_BURST_TOLERANCE = _measure("burst tolerance, low burst", 2.0, "psi", _DP, "of marked burst",
                               BPVC, "formerly VIII-1 UG-127(a)")  # fmt: skip
LOW_BURST = _measure("burst up to which the low tolerance holds", 40.0, "psi", _DP, "gauge", BPVC,
                     "formerly VIII-1 UG-127(a)")  # fmt: skip
BURST_OVER_SET = Rule("highest burst of a disk under a valve", 1.10, "of set", "ISO 4126-3:2006",
                      "7", MEMORY)  # fmt: skip
BURST_UNDER_SET = Rule("lowest burst of a disk under a valve", 0.90, "of set", "ISO 4126-3:2006",
                       "7", MEMORY)  # fmt: skip
BURST_OPERATING = Rule("operating pressure of a disk", 0.90, "of its lowest burst", NONE,
                       seen=PRACTICE)  # fmt: skip

# ---- the lines of a valve
INLET_LOSS = Rule("pressure lost in the inlet line", 0.03, "of set", API_520_2,
                  "7.3: at rated flow, without a velocity head", MEMORY)  # fmt: skip
ISO_INLET_SHARE = Rule("pressure lost in the inlet line, ISO", 1.0 / 3.0, "of blowdown",
                       "ISO 4126-9:2008", "6", MEMORY, printed="a third")  # fmt: skip
LINE_BORE = Rule("bore of the inlet line, at least", 1.00, "of that of the valve's inlet", BPVC,
                 "formerly VIII-1 UG-135", MEMORY)  # fmt: skip
BALANCED_BACK = Rule("total back pressure of a balanced valve", 0.5, "of set", API_520_1,
                     "5.3: typical, its maker's curve rules")  # fmt: skip
BLOWDOWN_MARGIN = Rule("kept between loss and blowdown", 0.02, "of set", NONE, seen=PRACTICE)
TAIL_PIPE_SPEED = Rule("speed in a tail pipe", 0.8, "of the speed at which it chokes", API_521,
                       "5.5: usual", MEMORY, printed="0.8")  # fmt: skip
HEADER_SPEED = Rule("speed in a shared header", 0.5, "of the speed of sound", API_521,
                    "no limit of its own: 0.5 to 0.7 in use", MEMORY, printed="0.5")  # fmt: skip
TIP_SPEED = Rule("speed at an unassisted tip, at its peak", 0.5, "of the speed of sound", API_521,
                 "flare tips", MEMORY, printed="0.5")  # fmt: skip
HEADER_MOMENTUM = _measure("density times velocity squared in a header", 200.0, "kPa", _DP, "",
                           NONE, seen=PRACTICE)  # fmt: skip

# ---- where a valve stands: straight pipe before it, on a line that flows; an open end
_STRAIGHT = "turbulence in the inlet line (restated)"
STRAIGHT_ELBOW = Rule("straight pipe after an elbow", 10.0, "diameters", API_520_2, _STRAIGHT,
                      MEMORY, "number", "10")  # fmt: skip
STRAIGHT_ELBOWS = Rule("straight pipe after two elbows in a plane", 15.0, "diameters", API_520_2,
                       _STRAIGHT, MEMORY, "number", "15")  # fmt: skip
STRAIGHT_PLANES = Rule("straight pipe after two elbows not in a plane", 20.0, "diameters",
                       API_520_2, _STRAIGHT, MEMORY, "number", "20")  # fmt: skip
STRAIGHT_CONTROL = Rule("straight pipe after a control valve", 25.0, "diameters", API_520_2,
                        _STRAIGHT, MEMORY, "number", "25")  # fmt: skip
OPEN_END_ABOVE = _measure("open end above the highest place for people nearby", 3.0, "m", "length",
                          "", NONE, seen=PRACTICE)  # fmt: skip

# ---- how much of a valve is used
SMALL_SHARE = Rule("share of the area below which a valve chatters", 0.25, "of the area", NONE,
                   seen=PRACTICE)  # fmt: skip
DOUBTFUL_SHARE = Rule("share of the area below which it may chatter", 0.30, "of the area", NONE,
                      seen=PRACTICE)  # fmt: skip

# ---- steam that chokes as a gas of this k
STEAM_K = Rule("k at which saturated steam chokes", 1.135, "", API_520_1, "5.7: critical flow",
               MEMORY, "number", "1.135")  # fmt: skip
SUPERHEATED_K = Rule("k at which superheated steam chokes", 1.3, "", API_520_1,
                     "5.7: critical flow", MEMORY, "number", "1.3")  # fmt: skip

# ---- up to which height a pool fire counts
FIRE_HEIGHT = _measure("height of a fire: wetted surface of a pressure vessel", 7.6, "m", "length",
                       "above the surface that holds the pool", API_521, "4.4.13")  # fmt: skip
TANK_FIRE_HEIGHT = _measure("height of a fire: shell of an atmospheric tank", 9.14, "m", "length",
                            "above grade", "API 2000 7th edition (2014)",
                            "3.3.3.3; NFPA 30 (30 ft)", MEMORY)  # fmt: skip

# ---- flare: radiation that people meet, in their clothes; speed at the tip; purge; seal
_LEVELS = "table of permissible design levels"
RADIATION_SECONDS = _measure("radiation, a few seconds: shelter or a way out at hand", 9.46,
                             "kW/m2", "heat flux", "", API_521, _LEVELS, MEMORY)  # fmt: skip
RADIATION_SHORT = _measure("radiation, urgent work up to 30 s without a shield", 6.31, "kW/m2",
                           "heat flux", "", API_521, _LEVELS, MEMORY)  # fmt: skip
RADIATION_MINUTES = _measure("radiation, urgent work of 2 to 3 minutes", 4.73, "kW/m2",
                             "heat flux", "", API_521, _LEVELS, MEMORY)  # fmt: skip
RADIATION_ALWAYS = _measure("radiation, people there at all times", 1.58, "kW/m2", "heat flux", "",
                            API_521, _LEVELS, MEMORY)  # fmt: skip
RADIATED = Rule("part of the heat radiated, hydrocarbons not tested", 0.3, "of the heat released",
                NONE, seen=PRACTICE, printed="0.3")  # fmt: skip
TIP_PEAK = Rule("Mach number at a pipe tip, short and rare", 0.5, "of the speed of sound", API_521,
                "flare text", MEMORY, printed="0.5")  # fmt: skip
TIP_NORMAL = Rule("Mach number at a pipe tip, frequent and smokeless", 0.2,
                  "of the speed of sound", API_521, "flare text", MEMORY,
                  printed="0.2")  # fmt: skip
CFR_60_18 = "40 CFR 60.18"
TIP_SLOW = _measure("velocity at a tip, any gas that may be flared", 18.3, "m/s", "velocity",
                    "at standard conditions", CFR_60_18, "(c)(4)(i)")  # fmt: skip
TIP_FAST = _measure("velocity at a tip, never above", 122.0, "m/s", "velocity",
                    "at standard conditions", CFR_60_18, "(c)(4)(ii) and (iii)")  # fmt: skip
PURGE_OXYGEN = Rule("oxygen held 25 ft below the tip", 0.06, "mole fraction", API_521,
                    "purge text, after Husa", MEMORY)  # fmt: skip
PURGE_DEPTH = _measure("depth below the tip where the oxygen is held", 25.0, "ft", "length", "",
                       API_521, "purge text, after Husa", MEMORY)  # fmt: skip
PURGE_VELOCITY_SEAL = _measure("purge above a velocity seal", 0.012, "m/s", "velocity",
                               "in the bore of the tip", API_521, "purge text: 0.006 to 0.012",
                               MEMORY)  # fmt: skip
PURGE_LABYRINTH = _measure("purge above a labyrinth seal", 0.003, "m/s", "velocity",
                           "in the bore of the tip", API_521, "purge text", MEMORY)  # fmt: skip
SEAL_AREA = Rule("free area of a liquid seal around its dip leg", 3.0, "inlet areas", API_521,
                 "liquid seal text", MEMORY, "number", "3")  # fmt: skip
SEAL_LEG = _measure("height of a seal's dip leg against a vacuum", 3.0, "m", "length", "",
                    API_521, "liquid seal text: about 10 ft", MEMORY)  # fmt: skip
# ---- what a knock-out drum catches and holds
_KO = "knock-out drums (2007: 7.3.2.1)"
DROPLET_SMALL = _measure("droplet a knock-out drum catches, smallest asked for", 300.0, "µm",
                         "length", "diameter", API_521, _KO)  # fmt: skip
DROPLET_LARGE = _measure("droplet a knock-out drum catches, largest allowed", 600.0, "µm",
                         "length", "diameter", API_521, _KO)  # fmt: skip
HOLD_UP_LEAST = _measure("hold-up of a knock-out drum, least", 20.0, "min", "time",
                         "of the largest liquid event", API_521, _KO)  # fmt: skip
HOLD_UP_MOST = _measure("hold-up of a knock-out drum, most asked for", 30.0, "min", "time",
                        "of the largest liquid event", API_521, _KO)  # fmt: skip
DRUM_DESIGN = _measure("design pressure of a knock-out drum, usual least", 50.0, "psi", _DP,
                       "gauge", "API 537; API 521 (2020)", "clause not seen", MEMORY)  # fmt: skip

# ---- when a jet into the air dilutes itself
_AIR = "atmospheric discharge (after Hoehne and Luce, 1970)"
JET_SPEED = _measure("exit velocity of a jet that dilutes itself", 30.0, "m/s", "velocity",
                     "at the exit", API_521, _AIR, MEMORY)  # fmt: skip
JET_WIND = Rule("exit velocity over wind, at least", 10.0, "", API_521, _AIR, MEMORY, "number",
                "10")  # fmt: skip
JET_REYNOLDS = Rule("Reynolds number at the exit for equal densities, at least", 1.54e4, "",
                    API_521, _AIR, MEMORY, "number", "15400")  # fmt: skip
HALF_LIMIT = Rule("gas in the air where people are", 0.5, "of the lower flammable limit", NONE,
                  seen=PRACTICE)  # fmt: skip
IGNITION_MARGIN = _measure("margin kept below the autoignition temperature", 50.0, "K",
                           "temperature difference", "at the exit", NONE,
                           seen=PRACTICE)  # fmt: skip

# A trip beside or in place of a device
SYSTEM_DESIGN = Rule("highest pressure of protection by system design", 1.16,
                     "of MAWP times the ratio of allowable stresses", BPVC,
                     "Part 13, formerly VIII-1 UG-140(b)", MEMORY)  # fmt: skip
RESPONSE_SHARE = Rule("response of a trip", 0.5, "of the process safety time", NONE, seen=PRACTICE)
STROKE_PER_INCH = Rule("stroke of a trip's valve, first estimate", 1.0, "second an inch of bore",
                       NONE, "", PRACTICE, "number", "1")  # fmt: skip
SMALL_CHANCE = Rule("failures hidden at the end of an interval", 0.1,
                    "of a channel, for forms of PFD without exponentials", "IEC 61508-6 (2010)",
                    "annex B", MEMORY, "number", "0.1")  # fmt: skip
LAYER_AT_MOST = Rule("PFD of a layer that counts, at most", 0.1, "", "CCPS, LOPA (2001)",
                     "ch. 6", MEMORY, "number", "0.1")  # fmt: skip
CONTROL_AT_LEAST = Rule("PFD of all layers of the control system together, at least", 0.1, "",
                        "IEC 61511-1 (2016)", "9.3", MEMORY, "number", "0.1")  # fmt: skip
ALARM_AT_LEAST = Rule("PFD of an alarm and the operator who acts on it, at least", 0.1, "",
                      "CCPS, LOPA (2001)", "table 6.5", MEMORY, "number", "0.1")  # fmt: skip
OPERATOR_TIME = _measure("time of an operator to act on an alarm, at least", 10, "min", "time", "",
                         "CCPS, LOPA (2001)", "table 6.5", MEMORY)  # fmt: skip
TRIP_AT_LEAST = Rule("PFD of one trip, at least", 1e-4, "", "IEC 61511-1 (2016)",
                     "9.2: SIL 4 is for another design", MEMORY, "number", "1e-4")  # fmt: skip
LOW_DEMAND = Rule("demands of the low-demand mode, at most", 1.0, "a year", "IEC 61508-4 (2010)",
                  "3.5.16", MEMORY, "number", "1")  # fmt: skip


RULES = tuple(rule for rule in list(globals().values()) if isinstance(rule, Rule))
