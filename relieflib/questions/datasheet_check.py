"""What 51 asks: wrong sheets to repair, and what to make of a number that differs."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.asking.ways import STATED, gas_area
from relieflib.devices import DISK_UPSTREAM, Device
from relieflib.nozzle.gas import Gas
from relieflib.set_pressure import accumulation_limit, relieving_pressure
from relieflib.sizing import ReliefLoad, size
from relieflib.units import ATMOSPHERE as AIR
from relieflib.working import Working, step

NOTEBOOK = 51
WARM_UP = (("30", "liquid"), ("01", "overpressure"))
_GAS = {"temperature": 340.0, "molar_mass": 28.0, "k": 1.4, "Z": 1.0, "Kd": 0.975}


def below_a_disk(mass_flow, pressure, temperature, molar_mass, k, Z, Kc, back_pressure):
    """Area of a valve with a rupture disk under it."""
    gas = Gas(pressure, temperature, molar_mass=molar_mass, k=k, Z=Z)
    found = size(ReliefLoad(STATED, mass_flow, gas), Device(Kc=Kc), back_pressure)
    return Working([s for s in found.working if s.name in _SHOWN])


_SHOWN = ("critical_ratio", "pressure_ratio", "mass_flux", "Kd", "Kc", "required_area")


def at_ten_per_cent(mass_flow, mawp_gauge, temperature, molar_mass, k, Z, Kd, atmosphere):
    """Area at the relieving pressure of one valve, no fire, into the open air."""
    P1 = relieving_pressure(mawp_gauge, atmosphere=atmosphere)
    limit = accumulation_limit(mawp_gauge)
    first = Working([
        step("accumulation_limit", limit, "0.1*MAWP", "ASME BPVC XIII; API 520-I (2020), 5.4",
             mawp_gauge=mawp_gauge),
        step("pressure", P1, "MAWP + dp_acc + Patm", "API 520-I (2020), 5.4",
             mawp_gauge=mawp_gauge, accumulation_limit=limit, atmosphere=atmosphere),
    ])  # fmt: skip
    rest = gas_area(mass_flow, P1, temperature, molar_mass, k, Z, Kd, atmosphere)
    return Working([*first, *rest])


QUESTIONS = (
    *series(
        "disk",
        "A sheet states {mass_flow} of nitrogen at {pressure} and {temperature} (M {molar_mass}, "
        "k {k}, Z {Z}), Kd 0.975, into {back_pressure}, with a rupture disk under the valve that "
        "was not certified together with it: Kc {Kc}. Its area was worked out without Kc. Which "
        "area is right?",
        below_a_disk,
        {"mass_flow": Varies(4.0, 1.0, 8.0, 500), "pressure": 15e5, "back_pressure": AIR,
         "Kc": DISK_UPSTREAM} | {n: v for n, v in _GAS.items() if n != "Kd"},
        "required_area",
        "The disk takes a tenth of what the nozzle passes.",
        ("critical_ratio", "pressure_ratio", "mass_flux"),
        note="Without Kc the area comes out a tenth too small; the next letter may hide it.",
        why="Ask whether valve and disk carry a certified factor of their own: then that one "
            "counts.",
    ),
    Value(
        "not a fire",
        "A sheet for a closed outlet: MAWP and set {mawp_gauge}, one valve, {mass_flow} of gas "
        "(M {molar_mass}, k {k}, Z {Z}, {temperature}), Kd {Kd}, into air of {atmosphere}. The "
        "vendor used 21 % accumulation. Repair the area.",
        at_ten_per_cent,
        {"mass_flow": 3.0, "mawp_gauge": Varies(12e5, 8e5, 20e5, 0.5), "atmosphere": AIR} | _GAS,
        "required_area",
        "How far may the vessel go in this cause?",
        why="21 % belongs to exterior fire alone; here it made the valve a tenth too small.",
    ),
    Choice(
        "which letter",
        "PSV-405 of the second list states letter M, 2323 mm². Recomputed it needs 4933 mm². N has "
        "2800, P 4116, Q 7129 mm². What do you ask for?",
        {
            "P: the nearest one, 17 % short, and valves have reserve.":
                "The tenth that a certified coefficient keeps back is not yours to spend, and 17 % "
                "is more than that.",
            "Q: the first letter that is large enough.":
                "With 7129 mm² it is used to 69 %. Two smaller ones in staggered sets are worth a "
                "look as well.",
            "M stays, with a higher set pressure to drive more through it.":
                "The set pressure is bounded by the MAWP. What the vessel may see decides, not "
                "what would suit the valve.",
        },
        "Q: the first letter that is large enough.",
        hint="Which areas are at least 4933 mm²?",
    ),
    Choice(
        "too large",
        "PSV-402 is sized for exterior fire. Its area is stated 9.7 % too large: the vendor took "
        "10 % accumulation and not 21 %. What do you do?",
        {
            "Nothing: larger is always safer.":
                "An oversized valve opens for each small event and may chatter; its inlet and "
                "outlet lines must carry its larger rated flow.",
            "Have the number corrected, and see whether the letter changes with it.":
                "If the letter stays, the valve is the same; if not, valve, lines and header load "
                "get smaller.",
            "Reject the valve: a sheet with one wrong number is worth nothing.":
                "It protects. Say what differs and why; the vendor may have had a reason that the "
                "sheet does not give.",
        },
        "Have the number corrected, and see whether the letter changes with it.",
        hint="Does it protect? And what does too large cost?",
    ),
    Choice(
        "set too high",
        "In the messy list, which valve would let its vessel go beyond what the code allows, "
        "however large it is?",
        {
            "PSV-202: set 165 psig on an MAWP of 150 psig.":
                "One valve may be set at MAWP at most. No letter makes up for a valve that opens "
                "too late.",
            "PSV-207: 2 in² stated where 1.164 in² are needed.":
                "It is too large, which costs money and may chatter; it opens in time.",
            "PSV-210: letter G where H is needed.":
                "It opens in time and passes too little; a larger letter mends it.",
        },
        "PSV-202: set 165 psig on an MAWP of 150 psig.",
        hint="Look for a set pressure, not for an area.",
    ),
)  # fmt: skip
