"""Small sketches of the equipment of one cause, in the symbols of `report.sketch`."""

from relieflib.errors import InputError
from relieflib.report.sketch import (
    Sketch,
    block_valve,
    check_valve,
    flag,
    flare,
    horizontal_vessel,
    pipe,
    pump,
    relief_valve,
    vertical_vessel,
)

EQUIPMENT_SKETCHES = ("closed outlet, gas", "closed outlet, liquid")


def equipment_sketch(cause, item="vessel", valve="relief valve"):
    """Small sketch of the equipment of one cause, for the head of a notebook.

    Parameters: cause, one of `EQUIPMENT_SKETCHES`; item and valve, tags to write beside the
    equipment. Returns `Sketch`. Raises InputError for another cause.
    Source: symbols of ISO 10628-2 and ISA-5.1.
    >>> equipment_sketch("closed outlet, gas", "V-104", "PSV-105").alt[:45]
    'Sketch. Gas enters vessel V-104 from the left'
    """
    if cause not in EQUIPMENT_SKETCHES:
        raise InputError(f"cause = '{cause}': use one of {', '.join(EQUIPMENT_SKETCHES)}")
    return (_closed_gas if cause == EQUIPMENT_SKETCHES[0] else _closed_liquid)(item, valve)


def _closed_gas(item, valve):
    name = "the vessel" if item == "vessel" else f"vessel {item}"
    s = Sketch(200, 96, f"Sketch. Gas enters {name} from the left through an open block valve; the "
               "block valve of its outlet at the right is closed. "
               f"{valve[0].upper() + valve[1:]} on top of it leads to the flare.")  # fmt: skip
    vertical_vessel(s, 80, 38, 26, 50)
    pipe(s, (14, 42), (67, 42))
    block_valve(s, 42, 42)
    s.label(40, 49, "gas comes in")
    pipe(s, (93, 30), (146, 30))
    block_valve(s, 118, 30, closed=True)
    s.label(119, 22, "outlet closed")
    s.label(80, 36, item)
    pipe(s, (80, 63), (80, 73), arrow=False, relief=True)
    relief_valve(s, 80, 76)
    pipe(s, (83.4, 76), (168, 76), (168, 30), (176.8, 30), relief=True)
    flare(s, 178, 20, 46)
    s.label(92, 83, valve, ha="left")
    s.label(178, 12, "flare")
    return s


def _closed_liquid(item, valve):
    name = "the pump" if item == "vessel" else f"pump {item}"
    s = Sketch(200, 90, f"Sketch. A feed drum stands above {name}; the pump's discharge runs "
               "through a check valve to a block valve that is closed, so the pump works against "
               f"its shutoff head. {valve[0].upper() + valve[1:]} between pump and check valve "
               "leads to the closed drain.")  # fmt: skip
    horizontal_vessel(s, 42, 68, 44, 18, level=69)
    s.label(42, 63.5, "feed drum")
    pipe(s, (50, 59), (50, 26), (73, 26))
    pump(s, 79, 26, 6)
    s.label(79, 14, "pump" if item == "vessel" else item)
    pipe(s, (85, 26), (176, 26))
    check_valve(s, 122, 26)
    s.label(122, 19, "check valve")
    block_valve(s, 150, 26, closed=True)
    s.label(150, 33, "closed")
    pipe(s, (100, 26), (100, 42), arrow=False, relief=True)
    relief_valve(s, 100, 45.4)
    pipe(s, (103.4, 45.4), (148, 45.4), relief=True)
    flag(s, 148, 45.4, "closed drain")
    s.label(106, 53, valve, ha="left")
    return s
