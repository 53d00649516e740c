"""Small sketches of the equipment of the flow causes, in the parts of `sketch`."""

from relieflib.credible import published_causes
from relieflib.errors import InputError
from relieflib.report.sketch import (
    Sketch,
    block_valve,
    check_valve,
    column,
    control_valve,
    exchanger,
    flag,
    flare,
    horizontal_vessel,
    pipe,
    pump,
    relief_valve,
    rupture_disk,
    vertical_vessel,
)

ALT = {
    "control_valve_opens": (
        "Sketch. High-pressure separator V-101 on the left; its level valve LV-101 stands "
        "wide open with its bypass, and gas blows into low-pressure separator V-102, whose "
        "valve PSV-104 leads to the flare."
    ),
    "hydraulic_expansion": (
        "Sketch. A line full of propane between two closed block valves lies in the sun; a "
        "small relief valve, PSV-108, stands on it and leads to the flare."
    ),
    "tube_rupture": (
        "Sketch. High-pressure gas runs through the tubes of exchanger E-101; one tube is "
        "broken at the tubesheet. The shell carries cooling water and bears rupture disk "
        "PSE-102, which leads to the flare."
    ),
    "reverse_flow": (
        "Sketch. Feed pump P-101 has stopped; high-pressure separator V-101 pushes back "
        "through two check valves in series towards feed drum V-100, whose valve PSV-100 "
        "leads to the flare."
    ),
    "overfilling": (
        "Sketch. Low-pressure separator V-102 has filled up with liquid because its outlet "
        "LV-102 is shut; liquid, with the gas it brings along, reaches valve PSV-104 on top and "
        "the disposal line."
    ),
    "volatile_ingress": (
        "Sketch. Water from the utility hose station is let into the hot bottom of "
        "depropaniser C-101 through a block valve; it boils at once. PSV-106 on top leads to "
        "the flare."
    ),
}


def cause_sketch(cause):
    """Sketch of the demo plant's equipment in one cause.

    Parameters: cause, name of its module. Returns `Sketch`; a plain vessel for a cause without a
    sketch of its own. Raises InputError for what is no cause. Source: symbols of ISO 10628-2 and
    ISA-5.1.
    >>> cause_sketch("tube_rupture").alt[:30]
    'Sketch. High-pressure gas runs'
    """
    if cause in SKETCHES:
        return SKETCHES[cause]()
    names = sorted({row["module"] for row in published_causes()} - {""})
    if cause not in names:
        raise InputError(f"cause = '{cause}': use one of {', '.join(names)}")
    return _any_vessel(cause.replace("_", " "))


def _any_vessel(words):
    s = Sketch(190, 96, f"Sketch. A vessel with its relief valve on top, which leads to the flare. "
               f"The cause: {words}.")  # fmt: skip
    pipe(s, (14, 44), (66, 44))
    vertical_vessel(s, 78, 40, 24, 44)
    s.label(78, 40, "vessel")
    pipe(s, (78, 62), (78, 68), arrow=False, relief=True)
    _to_flare(s, 78, 71.4, "PSV", right=174)
    s.label(40, 50, words)
    return s


def _to_flare(s, x, y, tag, right=184, flare_y=20):
    """A relief valve at (x, y) with its line to a flare at the right."""
    relief_valve(s, x, y)
    pipe(s, (x + 3.4, y), (right - 12, y), (right - 12, flare_y + 10), (right - 1.2, flare_y + 10),
         relief=True)  # fmt: skip
    flare(s, right, flare_y, 46)
    s.label(right, flare_y - 8, "flare")
    s.label(x - 4, y + 5, tag, ha="right")


def _control_valve():
    s = Sketch(210, 100, ALT["control_valve_opens"])
    vertical_vessel(s, 30, 60, 22, 44)
    s.label(30, 62, "V-101\n72 barg")
    pipe(s, (30, 38), (30, 24), (100, 24))
    control_valve(s, 62, 24)
    s.label(62, 17, "LV-101 wide open")
    pipe(s, (46, 24), (46, 44), (78, 44), (78, 24), arrow=False)
    block_valve(s, 62, 44)
    s.label(62, 50, "bypass")
    horizontal_vessel(s, 122, 24, 44, 20, level=20)
    s.label(122, 28, "V-102  21 barg")
    pipe(s, (112, 34), (112, 66), arrow=False, relief=True)
    _to_flare(s, 112, 69.4, "PSV-104", right=196)
    return s


def _expansion():
    s = Sketch(200, 84, ALT["hydraulic_expansion"])
    pipe(s, (14, 30), (150, 30))
    for x in (36, 126):
        block_valve(s, x, 30, closed=True)
        s.label(x, 22, "closed")
    s.label(81, 22, "L-105, full of propane")
    for x in (42, 54, 104, 116):
        s.line([(x + 4, 61), (x, 48 if x > 81 else 44)], color="#E69F00", linewidth=2)
    s.label(82, 66, "sun: 1.04 kW/m² on the projected area")
    pipe(s, (81, 30), (81, 42), arrow=False, relief=True)
    relief_valve(s, 81, 45)
    pipe(s, (84.4, 45), (160, 45), relief=True)
    flag(s, 160, 45, "flare")
    s.label(76, 52, "PSV-108", ha="right")
    return s


def _tube():
    s = Sketch(200, 88, ALT["tube_rupture"])
    exchanger(s, 90, 36, 64, 22)
    pipe(s, (20, 36), (58, 36))
    pipe(s, (122, 36), (160, 36))
    s.label(36, 42, "gas 64 barg")
    s.label(110, 36, "×", size=16, color="#D55E00")
    s.label(110, 20, "tube broken here", color="#D55E00")
    pipe(s, (70, 8), (70, 25))
    s.label(82, 8, "cooling water, MAWP 8 barg", ha="left")
    pipe(s, (84, 47), (84, 58), arrow=False, relief=True)
    rupture_disk(s, 84, 60)
    pipe(s, (84, 63), (84, 74), (150, 74), relief=True)
    flag(s, 150, 74, "flare")
    s.label(78, 60, "PSE-102", ha="right")
    return s


def _reverse():
    s = Sketch(210, 92, ALT["reverse_flow"])
    horizontal_vessel(s, 44, 48, 46, 20, level=46)
    s.label(44, 42, "V-100  5 barg")
    pipe(s, (44, 38), (44, 22), (80, 22), arrow=False)
    pump(s, 86, 22, 6)
    s.label(86, 11, "P-101 stopped")
    pipe(s, (92, 22), (166, 22), arrow=False)
    for x in (116, 132):
        check_valve(s, x, 22)
    s.label(124, 14, "NRV-101A/B")
    pipe(s, (158, 30), (104, 30))
    s.label(130, 35, "comes back")
    vertical_vessel(s, 178, 40, 24, 50)
    s.label(178, 44, "V-101\n72 barg")
    pipe(s, (36, 58), (36, 68), arrow=False, relief=True)
    relief_valve(s, 36, 71)
    pipe(s, (39.4, 71), (96, 71), relief=True)
    flag(s, 96, 71, "flare")
    s.label(31, 78, "PSV-100", ha="right")
    return s


def _overfilling():
    s = Sketch(190, 96, ALT["overfilling"])
    pipe(s, (14, 50), (52, 50))
    s.label(30, 56, "liquid and gas come in")
    horizontal_vessel(s, 78, 44, 52, 26, level=56.9)
    s.label(78, 44, "V-102, full")
    pipe(s, (78, 31), (78, 16), (130, 16))
    control_valve(s, 106, 16, closed=True)
    s.label(106, 8, "LV-102 shut")
    pipe(s, (92, 57), (92, 68), arrow=False, relief=True)
    _to_flare(s, 92, 71.4, "PSV-104", right=174)
    s.label(120, 77, "liquid in the flare line")
    return s


def _ingress():
    s = Sketch(190, 108, ALT["volatile_ingress"])
    column(s, 80, 46, 20, 76, trays=7, level=17)
    s.label(98, 48, "C-101", ha="left")
    pipe(s, (18, 13), (70, 13))
    block_valve(s, 46, 13)
    s.label(38, 21, "water")
    s.label(98, 13, "naphtha, 190 °C", ha="left")
    pipe(s, (80, 84), (80, 91), arrow=False, relief=True)
    _to_flare(s, 80, 94.4, "PSV-106", right=172)
    return s


SKETCHES = {
    "control_valve_opens": _control_valve, "hydraulic_expansion": _expansion,
    "tube_rupture": _tube, "reverse_flow": _reverse, "overfilling": _overfilling,
    "volatile_ingress": _ingress,
}  # fmt: skip
