"""Flow drawing of the demo plant; tags, sizes and set pressures come from the plant."""

from relieflib.report import sketch as d
from relieflib.report.figures import SMALL, TINY
from relieflib.symbols import shown
from relieflib.units import from_si

_HEADER = 246  # height of the flare header on the drawing
_ROW = 206  # height of the relief valves that discharge to it


def _pressure(value):
    return shown("pressure_gauge", value)


def _device_words(plant, tag):
    item = plant[tag]
    if item.section == "rupture_disks":
        return f"{tag}\nbursts\n{_pressure(item.burst_pressure_gauge)}"
    if item.section == "tank_vents":
        return f"{tag}\nset {from_si(item.set_pressure_gauge, 'mbarg', 'gauge pressure'):g} mbarg"
    return f"{tag}\n{item.designation}\nset\n{_pressure(item.set_pressure_gauge)}"


def plant_drawing(plant):
    """The whole demo plant as one flow drawing.

    Parameters: plant, from `load_plant`, with the demo plant's tags. Returns `Sketch`.
    Raises InputError when a tag of the drawing is not in the plant.
    Source: symbols of ISO 10628-2 and ISA-5.1; the plant is invented.
    """
    s = d.Sketch(400, 262, _alt(plant), scale=38.0)
    for part in (_feed, _high_pressure, _receiver, _low_pressure, _column, _overhead, _bullet,
                 _bottoms, _disposal):  # fmt: skip
        part(s, plant)
    return s


def _alt(plant):
    devices = [i for p in ("relief_valves", "rupture_disks") for i in plant.of(p)]
    sets = ", ".join(
        f"{i.tag} on {i.protects} "
        + _pressure(getattr(i, "set_pressure_gauge", getattr(i, "burst_pressure_gauge", 0.0)))
        for i in devices
    )
    return (
        "Flow drawing of the demo plant (fictional). Off-gas is cooled in E-101 and, with "
        "condensate pumped by P-101 from feed drum V-100, parts in high-pressure separator V-101. "
        "Its gas is let down by PV-101 into hydrogen receiver V-104; its liquid goes through "
        "LV-101 to low-pressure separator V-102, through E-104 to depropaniser C-101 with "
        "condenser E-102, reflux drum V-103 and steam reboiler E-103. Propane is pumped by P-102 "
        "to bullet V-105, naphtha is cooled in E-105 and runs to tank T-101. Batch neutraliser "
        f"R-101 feeds V-100. Relief devices and their set pressures: {sets}."
    )


def _boxed(s, plant, tag, x, y, service, **style):
    """Tag in bold above (x, y); service and MAWP below."""
    item = plant[tag]
    mawp = getattr(item, "mawp_gauge", None)
    words = service + (f"\nMAWP {_pressure(mawp)}" if mawp else "")
    s.label(x, y, tag, SMALL, weight="bold", va="bottom", **style)
    s.label(x, y - 0.6, words, TINY, va="top", **style)


def _to_header(s, plant, tag, x, bottom, disk=False, right=False):
    """Riser from (x, bottom) through a relief device to the flare header, labelled beside it."""
    if disk:
        d.pipe(s, (x, bottom), (x, _HEADER), relief=True)
        d.rupture_disk(s, x, _ROW)
    else:
        d.pipe(s, (x, bottom), (x, _ROW - 3.4), arrow=False, relief=True)
        d.relief_valve(s, x, _ROW)
        d.pipe(s, (x + 3.4, _ROW), (x + 8, _ROW), (x + 8, _HEADER), relief=True)
    away = 5 if disk else 11 if right else -5
    s.label(x + away, _ROW + 1, _device_words(plant, tag), TINY, ha="left" if away > 0 else "right")


def _to_flag(s, plant, tag, x, y, bottom, out, label):
    """Relief valve at (x, y) whose outlet runs to a flag that names its destination."""
    d.pipe(s, (x, bottom), (x, y - 3.4), arrow=False, relief=True)
    d.relief_valve(s, x, y)
    d.pipe(s, (x + 3.4, y), (x + out, y), relief=True)
    name = plant[tag].destination
    d.flag(s, x + out, y, name, width=13)
    s.label(*label, _device_words(plant, tag).replace("set\n", "set "), TINY, ha="left")


def _feed(s, plant):
    d.reactor(s, 24, 98, 20, 36, level=104)
    _boxed(s, plant, "R-101", 55, 107, "batch\nneutraliser")
    d.pipe(s, (2, 110), (14, 110))
    s.label(1, 115, "charge", TINY, ha="left")
    _to_flag(s, plant, "PSV-110", 31, 132, 113, 12, (38, 122.5))
    d.pipe(s, (24, 80), (24, 50), (36, 50))
    d.block_valve(s, 24, 66, upright=True)
    d.stream_number(s, 24, 57, 3)
    d.horizontal_vessel(s, 56, 50, 40, 15, level=51)
    _boxed(s, plant, "V-100", 57, 36.5, "feed drum")
    end = d.flag(s, 2, 32, "condensate", into=True)
    d.pipe(s, (end, 32), (42, 32), (42, 42.5))
    d.stream_number(s, 35, 32, 2)
    d.flag(s, 28, 69, "N2", width=11, into=True)
    d.pipe(s, (39, 69), (46, 69), (46, 57.5))
    d.control_valve(s, 46, 64, upright=True, size=2.4)
    s.label(43, 62.5, "PV-100", TINY, ha="right")
    _to_flag(s, plant, "PSV-100", 64, 70, 57, 8, (68, 82))
    d.pipe(s, (72, 43), (72, 18), (83, 18))
    d.pump(s, 88, 18)
    _boxed(s, plant, "P-101", 88, 7, "feed pump")
    d.pipe(s, (93, 18), (98, 18), (98, 170), arrow=False)
    d.check_valve(s, 98, 40, upright=True)
    d.check_valve(s, 98, 49, upright=True)
    s.label(103, 44.5, "NRV-101A/B", TINY, ha="left")
    d.control_valve(s, 98, 62, upright=True)
    s.label(109, 62, "FV-101", TINY, ha="left")
    d.stream_number(s, 98, 82, 4)
    d.pipe(s, (98, 24), (110, 24), arrow=False, relief=True)
    _to_flag(s, plant, "PSV-101", 110, 30, 24, 8, (116, 19))


def _high_pressure(s, plant):
    end = d.flag(s, 2, 170, "off-gas", into=True)
    d.exchanger(s, 58, 170)
    d.pipe(s, (end, 170), (44, 170))
    d.stream_number(s, 31, 170, 1)
    d.pipe(s, (72, 170), (108, 170))
    d.stream_number(s, 84, 170, 5)
    _boxed(s, plant, "E-101", 50, 158.5, "off-gas cooler")
    d.pipe(s, (68, 153), (68, 164.5))
    s.label(68, 150, "CWS", TINY)
    d.pipe(s, (50, 175.5), (50, 185))
    s.label(50, 188, "CWR", TINY)
    _to_header(s, plant, "PSE-102", 66, 175, disk=True)
    d.vertical_vessel(s, 116, 160, 16, 58, level=148)
    s.label(116, 168, "V-101", SMALL, weight="bold")
    mawp = _pressure(plant["V-101"].mawp_gauge)
    s.label(124, 121, f"high-pressure\nseparator\nMAWP {mawp}", TINY, ha="left")
    d.pipe(s, (116, 189), (116, 194), (148, 194), (148, 176), (153, 176))
    _to_header(s, plant, "PSV-103", 116, 194)
    d.control_valve(s, 134, 194)
    s.label(134, 188.5, "PV-101", TINY)
    s.label(134, 183.5, "600 | 150", TINY)
    d.pipe(s, (116, 131), (116, 104), (146, 104))
    d.control_valve(s, 132, 104)
    s.label(132, 98.5, "LV-101", TINY)
    s.label(132, 93.5, "600 | 300", TINY)
    d.bubble(s, 104.8, 122, "LC", "101")
    d.signal(s, (108, 142), (104.8, 142), (104.8, 127.2))
    d.signal(s, (104.8, 116.8), (104.8, 110.4), (129.5, 110.4))
    d.stream_number(s, 116, 118, 8)


def _receiver(s, plant):
    d.vertical_vessel(s, 162, 166, 18, 46)
    s.label(162, 170, "V-104", SMALL, weight="bold")
    s.label(162, 138.5, f"hydrogen receiver\nMAWP {_pressure(plant['V-104'].mawp_gauge)}", TINY)
    d.stream_number(s, 148, 185, 6)
    _to_header(s, plant, "PSV-105", 162, 189)
    d.pipe(s, (171, 152), (186, 152))
    d.stream_number(s, 178, 152, 7)
    d.flag(s, 185, 152, "H2-rich", width=21)


def _low_pressure(s, plant):
    d.horizontal_vessel(s, 170, 104, 48, 16, level=104)
    s.label(168, 108, "V-102", SMALL, weight="bold")
    d.pipe(s, (158, 112), (158, 126), (184, 126))
    d.control_valve(s, 172, 126)
    s.label(172, 120.5, "PV-102", TINY)
    d.flag(s, 184, 126, "fuel gas", width=20)
    d.stream_number(s, 158, 119, 9)
    d.pipe(s, (170, 96), (170, 62), (192, 62))
    d.control_valve(s, 170, 78, upright=True)
    s.label(173, 70.5, "LV-102", TINY, ha="left")
    d.bubble(s, 190, 85, "LC", "102")
    d.signal(s, (190, 96), (190, 90.2))
    d.signal(s, (184.8, 84), (176.4, 84), (176.4, 80.6))
    d.pipe(s, (188, 111), (188, 117), (209, 117), (209, _ROW - 3.4), arrow=False, relief=True)
    _to_header(s, plant, "PSV-104", 209, 190)
    d.stream_number(s, 170, 88, 10)
    s.label(170, 100, f"MAWP {_pressure(plant['V-102'].mawp_gauge)}", TINY)
    s.label(163, 86.5, "low-pressure\nseparator", TINY, ha="right")


def _column(s, plant):
    d.exchanger(s, 206, 62)
    _boxed(s, plant, "E-104", 208, 79, "feed/bottoms\nexchanger")
    d.pipe(s, (220, 62), (227, 62), (227, 124), (236, 124))
    d.column(s, 243, 122, 14, 132, level=76)
    _boxed(s, plant, "C-101", 272, 214, "depropaniser")
    d.exchanger(s, 284, 78)
    d.pipe(s, (250, 66), (277, 66), (277, 72.5))
    d.pipe(s, (277, 83.5), (277, 90), (250, 90))
    s.label(282, 96, "E-103", SMALL, ha="left", weight="bold")
    s.label(282, 90.5, "steam reboiler", TINY, ha="left")
    d.pipe(s, (322, 78), (298, 78))
    d.control_valve(s, 311, 78)
    s.label(311, 72.5, "FV-103", TINY)
    s.label(324, 78, "steam", TINY, ha="left")
    d.pipe(s, (294, 72.5), (294, 65.5))
    s.label(294, 62.5, "condensate", TINY)


def _overhead(s, plant):
    d.pipe(s, (243, 188), (243, 196), (275, 196), (275, 187.5))
    d.stream_number(s, 260, 196, 11)
    _to_header(s, plant, "PSV-106", 243, 196)
    d.exchanger(s, 284, 182)
    s.label(283, 200.5, "E-102", SMALL, ha="left", weight="bold")
    s.label(283, 195, "condenser", TINY, ha="left")
    d.pipe(s, (322, 182), (298, 182))
    d.control_valve(s, 311, 182)
    s.label(311, 176.5, "TV-102", TINY)
    s.label(323, 182, "CWS", TINY, ha="left")
    d.pipe(s, (270, 182), (263, 182))
    s.label(263, 186.5, "CWR", TINY)
    d.pipe(s, (288, 176.5), (288, 161))
    d.horizontal_vessel(s, 288, 154, 36, 14, level=154)
    s.label(288, 157.5, "V-103", SMALL, weight="bold")
    s.label(288, 150.3, f"MAWP {_pressure(plant['V-103'].mawp_gauge)}", TINY)
    s.label(309, 154, "reflux drum", TINY, ha="left")
    d.pipe(s, (277, 147), (277, 126), (283, 126))
    d.pump(s, 288, 126)
    s.label(288, 137, "P-102", SMALL, weight="bold")
    d.pipe(s, (293, 126), (334, 126), arrow=False)
    d.check_valve(s, 301, 126)
    s.label(301, 131, "NRV-102", TINY)
    d.pipe(s, (309, 126), (309, 112), (258, 112), (258, 166), (250, 166))
    d.control_valve(s, 286, 112)
    s.label(286, 106.5, "FV-104", TINY)
    d.stream_number(s, 258, 140, 12)


def _bullet(s, plant):
    d.block_valve(s, 316, 126)
    d.stream_number(s, 325, 126, 13)
    d.pipe(s, (334, 126), (334, 102))
    d.block_valve(s, 334, 116, upright=True)
    d.control_valve(s, 334, 107, upright=True)
    s.label(344, 107, "LV-104", TINY, ha="left")
    s.label(341, 119, "L-105\ncan be\nblocked in", TINY, ha="left")
    _to_header(s, plant, "PSV-108", 334, 126)
    d.horizontal_vessel(s, 346, 94, 56, 16, level=94)
    s.label(333, 98, "V-105", SMALL, weight="bold")
    s.label(357, 98, "propane bullet", TINY)
    s.label(346, 90, f"MAWP {_pressure(plant['V-105'].mawp_gauge)}", TINY)
    _to_header(s, plant, "PSV-107", 366, 102, right=True)
    d.pipe(s, (364, 86), (364, 66), (370, 66))
    d.flag(s, 370, 66, "propane", width=21)
    d.stream_number(s, 364, 75, 14)


def _bottoms(s, plant):
    d.pipe(s, (243, 56), (243, 46), (214, 46), (214, 56.5))
    d.stream_number(s, 228, 46, 15)
    d.pipe(s, (198, 56.5), (198, 20), (236, 20))
    d.exchanger(s, 250, 20)
    s.label(218, 31, "E-105", SMALL, weight="bold")
    s.label(218, 26.5, "naphtha cooler", TINY)
    d.pipe(s, (242, 6), (242, 14.5))
    s.label(242, 3.5, "CWS", TINY)
    d.pipe(s, (258, 25.5), (258, 50))
    d.block_valve(s, 258, 42, upright=True)
    s.label(258, 53, "CWR", TINY)
    d.pipe(s, (258, 32), (270, 32), arrow=False, relief=True)
    _to_flag(s, plant, "PSV-109", 270, 38, 32, 8, (275, 49))
    d.pipe(s, (264, 20), (320, 20))
    d.control_valve(s, 290, 20)
    s.label(290, 14.5, "LV-103", TINY)
    d.tank(s, 342, 8, 44, 38, level=32)
    s.label(342, 26, "T-101", SMALL, weight="bold")
    s.label(342, 20, "naphtha tank", TINY)
    for x, tag, ha, at in ((332, "PVSV-111", "right", 324), (352, "EV-112", "left", 358)):
        d.pipe(s, (x, 49), (x, 52.6), arrow=False, relief=True)
        d.relief_valve(s, x, 55, size=2.4, side=-1 if ha == "right" else 1)
        s.label(at, 56, _device_words(plant, tag), TINY, ha=ha)
    d.pipe(s, (364, 16), (378, 16))
    d.stream_number(s, 370.5, 16, 16)
    d.flag(s, 378, 16, "naphtha", width=20)


def _disposal(s, plant):
    d.pipe(s, (374, _HEADER), (44, _HEADER), (44, 232.5), relief=True)
    s.label(200, _HEADER + 5, "FH  flare header", TINY)
    d.horizontal_vessel(s, 44, 228, 22, 9)
    s.label(44, 220, "knock-out drum", TINY)
    d.pipe(s, (33, 228), (17.3, 228), relief=True)
    d.flare(s, 16, 222, 22)
    s.label(16, 218, "flare", TINY)
    s.label(398, 257, "Fictional plant: invented for teaching. Numbers in diamonds: streams.", TINY,
            ha="right")  # fmt: skip
