"""Pressure against time on the page: a panel, a row of pictures, the area ladder's companion.

One cell of a cause's notebook is enough, below its area ladder:

>>> from relieflib import Device, Gas, ReliefLoad, size
>>> from relieflib.pressure_in_time import sources
>>> from relieflib.pressure_in_time.contents import IdealGas
>>> stream = Gas(12e5, 313.0, molar_mass=18.0, k=1.28)
>>> sizing = size(ReliefLoad("closed_outlet", 2.0, stream), Device("conventional", 10e5))
>>> held = IdealGas(20.0, 8e5, 313.0, molar_mass=18.0, k=1.28)
>>> panel = in_time(sizing, held, sources.closed_outlet(2.0, 313.0), limit_pressure=12e5)
>>> panel.rows[0]  # by hand: 3.01325e5 Pa at k R T W/(M V) = 18 506 Pa/s
('set is reached after', '16.28 s')

`in_time` takes the sizing of the notebook, what is in the vessel, and the cause's `Source`; set
pressure and atmosphere are those of the sizing's device.
"""

from dataclasses import replace
from math import inf, isnan

import numpy as np

from relieflib.errors import InputError
from relieflib.notebook.areas import read_off
from relieflib.notebook.controls import choice, quantity
from relieflib.notebook.panel import Panel
from relieflib.pressure_in_time.course import Case, follow
from relieflib.pressure_in_time.device import KINDS, Relief
from relieflib.report.figures import (
    BLUE,
    GREY,
    INK,
    NORMAL,
    SMALL,
    VERMILLION,
    display,
    margins,
    new_figure,
    spread,
)
from relieflib.symbols import shown, symbol
from relieflib.texts import number_text, unit_text, with_unit
from relieflib.units import ATMOSPHERE, from_si

IN_VIEW, MOST = (7.2, 3.9), 12  # inches; openings on show
SMALLEST, LARGEST = 0.5, 4.0  # of the required area, ends of the control
OF_A_TANK = 0.1e5  # Pa gauge: what bears less is told in mbar
SHOWN_TO = 1e-6  # of the integrator: the page shows four figures
_LEVELS = (("limit", "-", VERMILLION), ("set", "--", INK), ("reseat", ":", GREY))
_DOUBLED = 8  # times, at most, until a device at the start has settled
_NONE = "no device"
_FEW = ("pop", "proportional", "disk")  # a pilot does what these do, where no line is lossy


def in_time(sizing, contents, source, *, limit_pressure, time=None, area_multiple=1.0,
            set_pressure=None, full=False, kind=None, full_lift=None, more=(),
            case_of=None, rows=()):  # fmt: skip
    """Panel of a vessel against time with the device of a sizing, half to four times its area.

    Parameters: sizing, of the cause at relieving pressure; contents, of `pressure_in_time`;
    source, a `Source`; limit_pressure [Pa absolute]; time to be shown [s], by default six times
    what the vessel takes to the limit without a device, longer where the device at the start has
    not settled by then; area_multiple at the start; set_pressure
    [Pa absolute], by default that of the sizing's device; full True for all of the device's inputs,
    False for area and kind alone; kind at the start; full_lift of a proportional one [-]; more,
    further controls, whose values case_of(**values) turns into (sizing, contents, source,
    limit_pressure), its device's set being the set then, or into these and the time to be shown;
    rows, names that `read_off` knows, shown first.
    Returns `Panel`. Raises InputError as its parts. Source: `pressure_in_time.course`.
    """
    air = sizing.device.atmosphere

    def relief_of(sized, at, multiple, kind, own):
        if kind == "proportional" and full_lift is not None:
            own["full_lift"] = full_lift
        return _relief(sized, at, multiple, kind, own)

    def first():
        at = _set_of(sizing) if set_pressure is None else set_pressure
        return relief_of(sizing, at, area_multiple, kind or "pop", {})

    span = _span(contents, source, limit_pressure, first()) if time is None else time
    start = (sizing, contents, source, limit_pressure)

    def compute(area_multiple, kind, time_shown=None, **values):
        own = {n: values.pop(n) for n in ("blowdown", "loss_fraction", "opening_time")
               if n in values}  # fmt: skip
        sized, held, brought, limit, *shown_for = case_of(**values) if case_of else start
        time_shown = time_shown or (shown_for[0] if shown_for else span)
        at = _set_of(sized) if set_pressure is None or case_of else set_pressure
        relief = relief_of(sized, at, area_multiple, kind, own)
        case = Case(held, brought, relief, limit_pressure=limit,
                    set_pressure=at if relief is None else None)  # fmt: skip
        return run_of(case, time_shown) | {"sizing": sized}

    controls = [
        *more,
        quantity("area_multiple", area_multiple, SMALLEST, LARGEST, step=0.05),
        choice("kind", [*(KINDS if full else _FEW), _NONE], kind or "pop", label="device"),
    ]
    if full:
        controls += [
            quantity("blowdown", 0.07, 0.02, 0.2),
            quantity("loss_fraction", 0.0, 0.0, 0.15, label="inlet loss at rated flow"),
            quantity("opening_time", 0.0, 0.0, 2.0),
            quantity("time_shown", span, span / 20.0, span * 5.0),
        ]

    def update(artists, result, unit_set):
        return update_in_time(artists, result, unit_set, air)

    def build(figure, result, unit_set):
        return build_in_time(figure, result, unit_set, air)

    def table(result, unit_set):
        own = [read_off(result["sizing"], name, unit_set) for name in rows]
        return own + rows_of(result, unit_set, air)

    return Panel(controls, compute, build, update, table, size=IN_VIEW)


def _set_of(sizing):
    """Set pressure of a sizing's device [Pa absolute]."""
    if sizing.device.set_pressure_gauge is None:
        raise InputError("set_pressure: the sizing's device has none; give it")
    return sizing.device.atmosphere + float(sizing.device.set_pressure_gauge)


def _relief(sizing, set_pressure, multiple, kind, own):
    if kind == _NONE:
        return None
    if kind == "disk":
        own.pop("loss_fraction", None)
    return Relief.of_sizing(sizing, set_pressure, multiple, kind, **own)


def _span(contents, source, limit, relief):
    """Time to show [s]: six times that to the limit without the device, twice and twice again that
    until the device has settled, opens and shuts, or the run ends by itself.
    """
    bare = Case(contents, source, limit_pressure=limit)
    left = follow(bare, 86_400.0, 2, stop_at_limit=True).time_to_limit
    span, case = 600.0 if left == inf else 6.0 * left, replace(bare, relief=relief)
    for _ in range(_DOUBLED):
        course = follow(case, span, 8, most_cycles=MOST, rtol=SHOWN_TO)
        if course.cycles != 1 or course.ended != "time" or not isnan(course.steady_pressure):
            break
        span *= 2.0
    return float(f"{span:.2g}")


def run_of(case, time):
    """What the picture and the table show: the course with the device, and the one without.

    Parameters: case, a `Case`; time [s]. Returns a dict. Raises InputError, source: as `follow`.
    """
    bare = Case(case.contents, case.source, limit_pressure=case.limit_pressure,
                set_pressure=case.timed_set)  # fmt: skip
    course = follow(case, time, most_cycles=MOST, rtol=SHOWN_TO)
    alone = follow(bare, time, steps=60, rtol=SHOWN_TO, stop_at_limit=True)
    return {"case": case, "time": time, "course": course, "bare": alone}


def rows_of(result, unit_set="SI", atmosphere=ATMOSPHERE):
    """Rows of the table: when set and limit are reached, the peak, and what it settles at.

    Parameters: result, as `run_of`; unit_set; atmosphere [Pa]. Returns list of (label, text).
    Source: as `Course`.
    """
    course, bare, unit = (
        result["course"],
        result["bare"],
        _unit(result["case"], unit_set, atmosphere),
    )

    def at(pressure):
        return _told(pressure, unit, atmosphere)

    def after(moment):
        per, unit = _time_unit(moment)
        return "not in this time" if moment == inf else f"{number_text(moment / per, 4)} {unit}"

    cycles = str(course.cycles)
    if not isnan(course.period):
        cycles += f", {number_text(course.cycles_per_minute, 3)} a minute"
    settled = "-" if isnan(course.steady_pressure) else at(course.steady_pressure)
    return [
        ("set is reached after", after(course.time_to_set)),
        ("limit without a device", after(bare.time_to_limit)),
        ("limit with it", after(course.time_to_limit)),
        ("highest pressure", at(course.peak)),
        ("it settles at", settled),
        ("openings", cycles),
        ("let out", shown("mass", course.mass_lost, unit_set) or "-"),
        ("temperature at the end", shown("temperature", course.temperature[-1], unit_set)),
        ("in words", course.verdict.partition("; ")[2] or course.verdict),
    ]


def build_in_time(figure, result, unit_set="SI", atmosphere=ATMOSPHERE):
    """Pressure against time above, lift below, with set, limit and reseat as lines.

    Parameters: figure, empty; result, as `run_of`; unit_set; atmosphere [Pa]. Returns the artists.
    """
    left, wide = margins(figure, 0.10, 0.16)
    axes = [figure.add_axes((left, y, wide, h)) for y, h in ((0.40, 0.50), (0.14, 0.17))]
    artists = {"axes": axes, "words": figure.text(left, 0.94, "", fontsize=NORMAL, weight="bold")}
    artists["bare"] = axes[0].plot([], [], color=VERMILLION, ls="--", lw=1.6)[0]
    artists["course"] = axes[0].plot([], [], color=BLUE, lw=2)[0]
    artists["end"] = axes[0].plot([], [], color=INK, marker="X", ms=8, ls="none", zorder=5)[0]
    artists["lift"] = axes[1].plot([], [], color=BLUE, lw=1.5)[0]
    across = axes[0].get_yaxis_transform()
    artists["levels"] = [
        (axes[0].axhline(0, color=color, ls=line, lw=1.1),
         axes[0].text(1.015, 0, "", va="center", fontsize=SMALL, color=color, transform=across))
        for _, line, color in _LEVELS
    ]  # fmt: skip
    figure.legend([artists["course"], artists["bare"]], ["with device", "without"],
                  loc="center left", bbox_to_anchor=(left + wide + 0.002, 0.23), frameon=False,
                  fontsize=SMALL, handlelength=1.6)  # fmt: skip
    for ax in axes:
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL)
    axes[0].tick_params(labelbottom=False)
    axes[1].set(ylim=(-0.06, 1.1), yticks=[0, 1])
    axes[1].set_ylabel("lift", fontsize=SMALL)
    update_in_time(artists, result, unit_set, atmosphere)
    return artists


def update_in_time(artists, result, unit_set="SI", atmosphere=ATMOSPHERE):
    """Move the curves of `build_in_time`; returns the alt text."""
    a, course, bare = artists, result["course"], result["bare"]
    told_in = _unit(result["case"], unit_set, atmosphere)
    end = max(float(course.time[-1]), 1e-9)
    per, unit = _time_unit(end)

    def show(P):
        return from_si(np.asarray(P) - atmosphere, told_in, "gauge pressure")

    a["course"].set_data(course.time / per, show(course.pressure))
    a["lift"].set_data(course.time / per, course.lift)
    seen = bare.time <= end
    a["bare"].set_data(bare.time[seen] / per, show(bare.pressure[seen]))
    stopped = course.ended not in ("time", "cycling on")
    a["end"].set_data(*(([end / per], [show(course.pressure[-1])]) if stopped else ([], [])))
    _levels(a, result["case"], show, course, bare)
    for ax in a["axes"]:
        ax.set_xlim(0, end / per)
    a["axes"][0].set_ylabel(f"pressure, {unit_text(told_in)}", fontsize=NORMAL)
    a["axes"][1].set_xlabel(f"time, {unit}", fontsize=NORMAL)
    words = _title(course)
    a["words"].set_text(words)
    return (f"Pressure of the vessel against time, lift of the device below. {words}. Highest "
            f"{_told(course.peak, told_in, atmosphere)}. "
            f"{course.verdict}.")  # fmt: skip


def _unit(case, unit_set, atmosphere):
    """Unit of the pressures of a vessel's picture: a tank's are millibars."""
    if unit_set == "SI" and case.limit_pressure - atmosphere < OF_A_TANK:
        return "mbarg"
    return symbol("pressure_gauge").display_unit(unit_set)


def _told(pressure, unit, atmosphere):
    return with_unit(from_si(pressure - atmosphere, unit, "gauge pressure"), unit, 4)


def _time_unit(end):
    if end > 3 * 3600.0:
        return 3600.0, "h"
    return (60.0, "min") if end > 300.0 else (1.0, "s")


def _levels(a, case, show, course, bare):
    """Place the lines of limit, set and reseat, and their words beside the axes."""
    relief = case.relief
    reseat = relief.reseat_in_vessel if relief is not None and relief.pops else None
    values = [case.limit_pressure, case.timed_set, reseat]
    known = [float(show(v)) for v in values if v is not None]
    low = min(*known, float(show(course.pressure.min())))
    high = max(*known, float(show(course.peak)))
    low, high = low - 0.06 * (high - low), high + 0.08 * (high - low)
    a["axes"][0].set_ylim(low, high)
    places = iter(spread(np.array(known), 0.08 * (high - low), low, high))
    for (line, text), (name, *_), value in zip(a["levels"], _LEVELS, values):
        line.set_visible(value is not None)
        text.set_visible(value is not None)
        if value is not None:
            line.set_ydata([float(show(value))] * 2)
            text.set(text=f"{name} {float(show(value)):.4g}", y=next(places))


def _title(course):
    """The one message of the picture."""
    if course.time_to_limit < inf:
        return "Too small: the limit is passed" if course.cycles else "The limit is passed"
    if course.ended.startswith("chatter"):
        return "Chatter: no steady state"
    if course.ended not in ("time", "cycling on"):
        return course.ended[0].upper() + course.ended[1:]
    if course.cycles == 0:
        return "Set is not reached"
    if not isnan(course.period):
        return f"It opens and shuts, {number_text(course.cycles_per_minute, 3)} times a minute"
    return "It opens and stays open" if isnan(course.steady_pressure) else "It opens and holds"


def _short(course, told):
    """The title of a small picture; told, a pressure as text."""
    rests = "" if isnan(course.steady_pressure) else f", settles at {told(course.steady_pressure)}"
    if course.time_to_limit < inf:
        return f"passes the limit{rests or ', ' + told(course.peak)}"
    if rests:
        return ("stays open" if course.cycles else "set not reached") + rests
    if not isnan(course.period):
        return f"opens {number_text(course.cycles_per_minute, 3)} times a min"
    return _title(course)[0].lower() + _title(course)[1:]


def in_time_row(courses, case, atmosphere=ATMOSPHERE, unit_set="SI"):
    """Several courses of one vessel beside each other, as one picture with its alt text.

    Parameters: courses, {words: `Course`}; case, for its limit and set; atmosphere [Pa]; unit_set.
    Returns `Display`. Raises InputError for none. Source: as `Course`.
    """
    if not courses:
        raise InputError("courses: give one at least")
    figure, told_in = new_figure((9.0, 2.9)), _unit(case, unit_set, atmosphere)

    def show(P):
        return from_si(P - atmosphere, told_in, "gauge pressure")

    width, said = 0.90 / len(courses), []
    low = min(c.pressure.min() for c in courses.values())
    top = max(c.peak for c in courses.values())
    top = max(case.limit_pressure, min(top, 3.0 * case.limit_pressure - 2.0 * low))
    limits = [float(show(v)) for v in (low, top)]
    for i, (words, course) in enumerate(courses.items()):
        ax = figure.add_axes((0.075 + i * width, 0.19, 0.84 * width, 0.62))
        per, unit = _time_unit(float(course.time[-1]))
        ax.plot(course.time / per, show(course.pressure), color=BLUE, lw=2)
        for value, (_, line, color) in zip((case.limit_pressure, case.timed_set), _LEVELS):
            ax.axhline(float(show(value)), color=color, ls=line, lw=1.1)
        ax.set(ylim=(limits[0], limits[1] + 0.08 * (limits[1] - limits[0])),
               xlim=(0, course.time[-1] / per))  # fmt: skip
        short = _short(course, lambda P: number_text(float(show(P)), 3))
        ax.set_title(f"{words}:\n{short}", fontsize=SMALL, loc="left")
        ax.set_xlabel(f"time, {unit}", fontsize=SMALL)
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL, labelleft=i == 0)
        said.append(f"{words}: {short}")
        if i == 0:
            ax.set_ylabel(f"pressure, {unit_text(told_in)}", fontsize=NORMAL)
    return display(figure, "Pressure against time, limit and set as lines. " + "; ".join(said)
                   + ".")  # fmt: skip


def cooling_picture(courses, unit_set="SI"):
    """Gas temperature of several blow-downs over the pressure left, with its alt text.

    Parameters: courses, {words: `Course`}, four at most; unit_set. Returns `Display`. Source: as
    `Course`.
    """
    figure, P, T, said = new_figure((7.2, 3.2)), symbol("pressure"), symbol("temperature"), []
    ax = figure.add_axes((0.11, 0.17, 0.60, 0.76))
    styles = (("-", BLUE), ("--", VERMILLION), (":", INK), ("-.", GREY))
    for (words, course), (line, color) in zip(courses.items(), styles):
        ax.plot(P.show(course.pressure, unit_set), T.show(course.temperature, unit_set), ls=line,
                color=color, lw=2, label=words)  # fmt: skip
        said.append(f"{words}: down to {shown('temperature', course.temperature.min(), unit_set)}")
    ax.invert_xaxis()
    ax.set_xlabel(f"pressure left, {unit_text(P.display_unit(unit_set))}", fontsize=NORMAL)
    ax.set_ylabel(f"gas, {unit_text(T.display_unit(unit_set))}", fontsize=NORMAL)
    ax.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelsize=SMALL)
    ax.legend(loc="center left", bbox_to_anchor=(1.02, 0.5), frameon=False, fontsize=SMALL)
    return display(figure, "Temperature of the gas while a vessel empties. " + "; ".join(said)
                   + ".")  # fmt: skip


def disk_picture(runs):
    """The sprung disk at several flows beside each other, as one picture with its alt text.

    Parameters: runs, {words: (time, lift, speed, pressure, strikes)} as `SprungDisk.run`. Returns
    `Display`. Source: as `sprung_disk`.
    """
    figure, said = new_figure((9.0, 2.6)), []
    width, top = 0.90 / len(runs), max(run[1].max() for run in runs.values())
    for i, (words, (t, lift, _, _, strikes)) in enumerate(runs.items()):
        ax = figure.add_axes((0.07 + i * width, 0.20, 0.86 * width, 0.60))
        ax.plot(t, lift, color=BLUE, lw=1.2)
        ax.axhline(0.0, color=GREY, lw=1.0)
        ax.set(xlim=(0, t[-1]), ylim=(-0.04 * top, 1.05 * top))
        late = np.ptp(lift[t > 0.8 * t[-1]])
        end = "swings" if late > 0.02 * lift[-1] else "comes to rest"
        end = f"strikes its seat {strikes} times" if strikes else end
        ax.set_title(f"{words}: {end}", fontsize=SMALL, loc="left")
        ax.set_xlabel("time, no unit", fontsize=SMALL)
        ax.spines[["top", "right"]].set_visible(False)
        ax.tick_params(labelsize=SMALL, labelleft=i == 0)
        said.append(f"{words}: {end}")
        if i == 0:
            ax.set_ylabel("lift, no unit", fontsize=NORMAL)
    return display(figure, "Lift of a sprung disk against time. " + "; ".join(said) + ".")
