"""Pipe sizes, loss coefficients, a figure: the one adapter to the general library fluids.

It checks before it asks, because the library answers some impossible questions with a number: a
negative diameter gives a loss, a widening given as a narrowing a negative one.
"""

from dataclasses import dataclass

import numpy as np

from relieflib.errors import InputError, not_negative, positive, refuse, result
from relieflib.tables import rows

SOURCE = "Crane TP-410 (2009), pages A-27 to A-30"
TABLE = {row[0]: row[1:] for row in rows("fittings")[1]}
KINDS = tuple(TABLE)
# degrees, whole angle of the taper in a valve of reduced bore; common practice, no source
TAPER_ANGLE = 30.0
SCHEDULES = ("5S", "10S", "10", "20", "30", "40", "60", "80", "100", "120", "140", "160", "STD",
             "XS", "XXS")  # fmt: skip


@dataclass(frozen=True)
class PipeSize:
    """A pipe of a schedule: nps, schedule; inside and outside diameter, wall [m]."""

    nps: str
    schedule: str
    inside_diameter: float
    outside_diameter: float
    wall_thickness: float


def _inches(nps):
    """Nominal size as a number: '1-1/2' gives 1.5."""
    try:
        whole, _, part = str(nps).strip().rpartition("-")
        top, _, bottom = part.partition("/")
        size = float(whole or 0) + float(top) / float(bottom or 1)
    except (ValueError, ZeroDivisionError):
        raise InputError(f"nps = {nps!r}: write a nominal size such as '4' or '1-1/2'") from None
    if str(nps).strip().startswith("-"):
        raise InputError(f"nps = {nps!r}: must be above 0")
    return size


def pipe_size(nps, schedule="40"):
    """Dimensions of a steel pipe.

    Parameters: nps, nominal size such as '4' or '1-1/2'; schedule, such as '40', '10S' or 'XS'.
    Returns `PipeSize`. Raises InputError for a size or schedule the standards do not have.
    Source: ASME B36.10M and B36.19M, as held in the general library fluids.
    >>> round(pipe_size("4").inside_diameter * 1e3, 2)
    102.26
    """
    from fluids.piping import nearest_pipe, schedule_lookup

    size, schedule = _inches(nps), str(schedule).upper()
    if schedule not in SCHEDULES:
        raise InputError(f"schedule = '{schedule}': use one of {', '.join(SCHEDULES)}")
    if size not in schedule_lookup[schedule][0]:
        raise InputError(f"nps = '{nps}': schedule {schedule} has no such size; it has "
                         + ", ".join(pipe_sizes(schedule)))  # fmt: skip
    _, inside, outside, wall = nearest_pipe(NPS=size, schedule=schedule)
    return PipeSize(_text(size), schedule, inside, outside, wall)


def pipe_sizes(schedule="40"):
    """Nominal sizes that a schedule has.

    Parameters: schedule, as `pipe_size`. Returns a tuple of str. Raises InputError for another.
    Source: ASME B36.10M and B36.19M, as held in the general library fluids.
    >>> pipe_sizes("160")[:4]
    ('1/2', '3/4', '1', '1-1/4')
    """
    from fluids.piping import schedule_lookup

    if schedule not in SCHEDULES:
        raise InputError(f"schedule = '{schedule}': use one of {', '.join(SCHEDULES)}")
    return tuple(_text(size) for size in schedule_lookup[schedule][0])


def _text(size):
    whole, part = divmod(round(size * 8), 8)
    if not part:
        return str(whole)
    top, bottom = part, 8
    while top % 2 == 0:
        top, bottom = top // 2, bottom // 2
    return f"{whole}-{top}/{bottom}" if whole else f"{top}/{bottom}"


def _each(function, *arrays):
    """A scalar function of the library over arrays; NaN in gives NaN, equal inputs asked once."""
    arrays = np.broadcast_arrays(*arrays)
    flat = np.stack([a.ravel() for a in arrays], axis=-1)
    unique, back = np.unique(flat, axis=0, return_inverse=True)
    values = [np.nan if np.isnan(row).any() else function(*row.tolist()) for row in unique]
    return np.array(values, dtype=float)[back.ravel()].reshape(arrays[0].shape)


def rough_friction(diameter):
    """Friction factor of fully rough flow in clean commercial steel pipe, which fittings refer to.

    Parameters: diameter [m], number or array, 10 mm to 1.2 m. Returns float or array [-], Darcy.
    Raises InputError outside. Source: Crane TP-410 (2009), page A-27, as the general library fluids
    fits it.
    >>> round(rough_friction(0.10226), 4)
    0.0162
    """
    from fluids.fittings import ft_Crane

    D = positive(diameter=diameter)
    refuse((D < 0.01) | (D > 1.2), "diameter", D, "friction of fittings is held for 10 mm to 1.2 m")
    return result(_each(ft_Crane, D))


def fitting_K(kind, diameter, bore=None):
    """Loss coefficient of one fitting, in velocity heads of the pipe.

    Parameters: kind, a name of the table of fittings; diameter of the pipe [m]; bore of a gate or
    ball valve [m], None for a full bore; arrays broadcast. Returns float or array [-]. Raises
    InputError for an unknown kind, one without a coefficient of its own (pipe, reducer, other), a
    bore wider than the pipe, or a bore given for another fitting.
    Validity: turbulent flow. Source: Crane TP-410 (2009), pages A-27 to A-30; a reduced bore with a
    taper of 30°.
    >>> round(fitting_K("long elbow", 0.10226), 4), fitting_K("entrance flush", 0.1)
    (0.2269, 0.5)
    """
    D = positive(diameter=diameter)
    if kind not in TABLE:
        raise InputError(f"kind = '{kind}': use one of {', '.join(KINDS)}")
    constant, per_friction = TABLE[kind]
    if not constant and not per_friction:
        raise InputError(f"kind = '{kind}': has no loss coefficient of its own")
    if bore is not None:
        return _reduced_bore(kind, D, bore)
    if constant:
        return result(float(constant) + 0.0 * D)
    return result(float(per_friction) * np.asarray(rough_friction(D)))


def _reduced_bore(kind, D, bore):
    import fluids.fittings as library

    valves = {"gate valve": library.K_gate_valve_Crane, "ball valve": library.K_ball_valve_Crane}
    if kind not in valves:
        raise InputError(f"bore belongs to a gate or ball valve: '{kind}' ignores it")
    bore = positive(bore=bore)
    refuse(bore > D, "bore", bore, "is wider than the pipe")
    return result(_each(lambda b, d: valves[kind](b, d, TAPER_ANGLE), bore, D))


def _taper(wide, narrow, length):
    """Whole angle of a taper [degrees]; 180, abrupt, without a length."""
    length = np.asarray(length, dtype=float)
    return 2.0 * np.degrees(np.arctan2(0.5 * (wide - narrow), length))


def contraction_K(diameter, next_diameter, length=0.0):
    """Loss coefficient of a narrowing, in velocity heads of the narrower pipe.

    Parameters: diameter before and next_diameter after it [m]; length of the taper [m], 0 for an
    abrupt one; arrays broadcast. Returns float or array [-]. Raises InputError where it widens.
    Source: Crane TP-410 (2009), page A-27, as in the general library fluids.
    >>> contraction_K(0.2, 0.1)
    0.375
    """
    length = not_negative(length=length)
    from fluids.fittings import contraction_conical_Crane

    wide, narrow = positive(diameter=diameter, next_diameter=next_diameter)
    refuse(narrow > wide, "next_diameter", narrow, "is wider than before: this is no narrowing")
    angle = _taper(wide, narrow, length)
    return result(_each(lambda w, n, a: contraction_conical_Crane(w, n, angle=a),
                        wide, narrow, angle))  # fmt: skip


def enlargement_K(diameter, next_diameter, length=0.0):
    """Loss coefficient of a widening, in velocity heads of the narrower pipe.

    Parameters: diameter before and next_diameter after it [m]; length of the taper [m], 0 for an
    abrupt one; arrays broadcast. Returns float or array [-]. Raises InputError where it narrows.
    Source: Crane TP-410 (2009), page A-27, as in the general library fluids.
    >>> enlargement_K(0.1, 0.2)
    0.5625
    """
    length = not_negative(length=length)
    from fluids.fittings import diffuser_conical_Crane

    narrow, wide = positive(diameter=diameter, next_diameter=next_diameter)
    refuse(wide < narrow, "next_diameter", wide, "is narrower than before: this is no widening")
    refuse(wide > 1e6 * narrow, "next_diameter", wide, "is no pipe's behind such a narrow one")
    angle = _taper(wide, narrow, length)
    return result(_each(lambda n, w, a: diffuser_conical_Crane(n, w, angle=a),
                        narrow, wide, angle))  # fmt: skip


def noise_figure(pressure_ratio_out):
    """Ordinate of the noise figure: level at 30 m less 10 log10 of half W c^2.

    Parameters: pressure_ratio_out, absolute pressures upstream over around the end [-], 1 or more,
    number or array. Returns float or array [dB]. Raises InputError below 1, where nothing flows.
    Source: API 521, figure of noise intensity at 30 m from the stack tip (figure 18 of the 5th
    edition), as the general library fluids fits it: two straight lines over the logarithm.
    >>> round(noise_figure(10.0), 2)
    56.45
    """
    from fluids.safety_valve import API521_noise_graph

    ratio = positive(pressure_ratio_out=pressure_ratio_out)
    refuse(ratio < 1.0, "pressure_ratio_out", ratio, "must be 1 or more: nothing flows below")
    return result(_each(API521_noise_graph, ratio))
