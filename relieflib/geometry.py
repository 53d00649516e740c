"""Areas and volumes of vessels at any liquid level: horizontal, vertical, spherical; four heads.

A level is measured from the lowest point of the shell (horizontal, spherical) or from the lower
tangent line (vertical, where the bottom head lies below zero). Inside dimensions; the wall that
the liquid touches is what the fire heats through.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from relieflib.errors import InputError, finite, not_negative, positive, refuse, result

ORIENTATIONS = ("horizontal", "vertical", "spherical")
HEADS = ("2:1 ellipsoidal", "hemispherical", "torispherical", "flat")
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
_S, _DS = 0.5 * (_NODES + 1.0), 0.5 * _WEIGHTS  # on 0 to 1


@dataclass(frozen=True)
class _Arc:
    """A piece of a head's meridian by the angle of its normal, for a shell of radius 1."""

    centre: float  # distance of the arc's centre from the axis
    radius: float
    axial: float  # position of the centre along the axis, from the tangent line outwards
    start: float
    end: float

    def at(self, angle):
        """Distance from the axis, axial position, and arc length and distance by angle."""
        sin, cos = np.sin(angle), np.cos(angle)
        r = self.radius
        return self.centre + r * sin, self.axial + r * cos, np.full_like(sin, r), r * cos

    def reach(self, distance):
        """Angle at which the arc reaches a distance from the axis."""
        sine = (distance - self.centre) / self.radius
        return np.arcsin(np.clip(sine, -1.0, 1.0))  # guard: levels beyond the arc


class _Ellipse(_Arc):
    """A 2:1 ellipse by its eccentric angle: depth a quarter of the diameter."""

    def at(self, angle):
        sin, cos, a = np.sin(angle), np.cos(angle), self.radius
        return sin, a * cos, np.sqrt(cos**2 + a**2 * sin**2), cos

    def reach(self, distance):
        return np.arcsin(np.clip(distance, 0.0, 1.0))  # guard: rounding


def _meridian(head_type, crown, knuckle):
    """The arcs of a head from its pole to the tangent line, for a shell of radius 1."""
    right = np.pi / 2
    if head_type == "2:1 ellipsoidal":
        return [_Ellipse(0.0, 0.5, 0.0, 0.0, right)]
    if head_type == "hemispherical":
        return [_Arc(0.0, 1.0, 0.0, 0.0, right)]
    if head_type == "flat":
        return []
    f, r = 2.0 * crown, 2.0 * knuckle  # radii over the shell's radius
    join = np.arcsin((1.0 - r) / (f - r))
    return [
        _Arc(0.0, f, -(f - r) * np.cos(join), 0.0, join),
        _Arc(1.0 - r, r, 0.0, join, right),
    ]


def _below(c, arcs):
    """Area and volume of one sideways head under a level c below the axis, radius 1, c from 0 to 1.

    A ring of radius rho has the angle 2 acos(c/rho) below the level. The square substitution takes
    the root out of the integrand where the ring just touches the level.
    """
    area, volume = np.zeros(c.shape), np.zeros(c.shape)
    c = c[..., None]
    for arc in arcs:
        low = np.clip(arc.reach(c), arc.start, arc.end)
        angle = low + (arc.end - low) * _S**2
        rho, x, arc_length, distance = arc.at(angle)
        turn = 2.0 * np.arccos(np.clip(c / np.maximum(rho, 1e-300), 0.0, 1.0))
        step = 2.0 * _S * (arc.end - low) * _DS
        area += np.sum(turn * rho * arc_length * step, axis=-1)
        volume += np.sum(turn * rho * x * distance * step, axis=-1)
    return area, volume


def _segment(c):
    """Area of the part of a circle of radius 1 below a chord at distance c under the centre."""
    return np.arccos(c) - c * np.sqrt(np.maximum(1.0 - c**2, 0.0))


def _sideways_head(z, head_type, arcs):
    """Area and volume of one head of a horizontal vessel below z (radius 1, z from -1 to 1)."""
    c = np.abs(z)
    if head_type == "flat":
        area, volume, whole = _segment(c), np.zeros(c.shape), (np.pi, 0.0)
    else:
        area, volume = _below(c, arcs)
        whole = tuple(2.0 * v.item() for v in _below(np.array(0.0), arcs))
    return (np.where(z > 0, whole[0] - area, area), np.where(z > 0, whole[1] - volume, volume))


def _standing_head(h, head_type, arcs, depth):
    """Area and volume of a head on its pole, filled to a height h (radius 1, h up to depth)."""
    if head_type == "flat":
        return np.full(h.shape, np.pi), np.zeros(h.shape)
    if head_type == "2:1 ellipsoidal":
        a2, e = depth**2, 1.0 - depth**2

        def primitive(v):
            return 0.5 * (v * np.sqrt(a2 + e * v**2) + a2 / np.sqrt(e)
                          * np.arcsinh(v * np.sqrt(e / a2)))  # fmt: skip

        area = 2 * np.pi * (primitive(1.0) - primitive(1.0 - h / depth))
        return area, np.pi * h**2 * (3.0 * depth - h) / (3.0 * a2)
    area, volume = np.zeros(h.shape), np.zeros(h.shape)
    x = depth - h  # axial position of the surface
    for arc in arcs:
        u, r = arc.centre, arc.radius
        p, q = (
            arc.start,
            np.arccos(np.clip((x - arc.axial) / r, np.cos(arc.end), np.cos(arc.start))),
        )
        dcos = np.cos(p) - np.cos(q)
        sector = (q - np.sin(q) * np.cos(q)) - (p - np.sin(p) * np.cos(p))
        area += 2 * np.pi * r * (u * (q - p) + r * dcos)
        cubes = dcos - (np.cos(p) ** 3 - np.cos(q) ** 3) / 3.0
        volume += np.pi * r * (u**2 * dcos + u * r * sector + r**2 * cubes)
    return area, volume


@dataclass(frozen=True)
class Vessel:
    """A vessel: orientation, inside diameter [m], length between tangent lines [m], head_type.

    orientation 'horizontal', 'vertical' or 'spherical' (length and head_type left out); head_type
    of `HEADS`, both ends alike; crown and knuckle, the radii of a torispherical head over the
    diameter, by default 1 and 0.06. diameter and length may be arrays that broadcast with levels.
    Raises InputError for an unknown word, a size not above 0, radii that make no head.
    Source: solids of revolution; crown 1 and knuckle 0.06: ASME BPVC VIII-1, UG-32 (from memory).
    >>> drum = Vessel("horizontal", 2.5, length=8.0, head_type="2:1 ellipsoidal")
    >>> round(drum.wetted_area(1.25), 3), round(drum.volume_of(1.25), 3)
    (38.191, 21.68)
    """

    orientation: str
    diameter: float
    _: KW_ONLY
    length: float | None = None
    head_type: str | None = None
    crown: float | None = None
    knuckle: float | None = None

    def __post_init__(self):
        if self.orientation not in ORIENTATIONS:
            raise InputError(f"orientation '{self.orientation}': use {', '.join(ORIENTATIONS)}")
        positive(diameter=self.diameter)
        if self.orientation == "spherical":
            if self.length is not None or self.head_type is not None:
                raise InputError(
                    "a spherical vessel has no length and no head_type: leave them out"
                )
        elif self.head_type not in HEADS or self.length is None:
            raise InputError(f"head_type '{self.head_type}': use {', '.join(HEADS)}; give a length")
        else:
            positive(length=self.length)
        self._check_dish()

    def _check_dish(self):
        if self.head_type != "torispherical":
            if self.crown is not None or self.knuckle is not None:
                raise InputError("crown and knuckle belong to a torispherical head only")
            return
        object.__setattr__(self, "crown", 1.0 if self.crown is None else self.crown)
        object.__setattr__(self, "knuckle", 0.06 if self.knuckle is None else self.knuckle)
        f, k = positive(crown=self.crown, knuckle=self.knuckle)
        refuse((f < 0.5) | np.isnan(f), "crown", f, "must be 0.5 or more of the diameter")
        refuse((k >= 0.5) | np.isnan(k), "knuckle", k, "must be below 0.5 of the diameter")

    @property
    def _arcs(self):
        head = "hemispherical" if self.orientation == "spherical" else self.head_type
        return _meridian(head, self.crown, self.knuckle)

    @property
    def head_depth(self):
        """Depth of one head beyond the tangent line [m]; a sphere has none."""
        if self.orientation == "spherical" or not self._arcs:
            return result(0.0 * positive(diameter=self.diameter))
        pole = self._arcs[0]
        return result((pole.axial + pole.radius) * positive(diameter=self.diameter) / 2.0)

    @property
    def bottom(self):
        """Lowest level [m]: 0, or the pole of the bottom head of a vertical vessel."""
        depth = np.asarray(self.head_depth)
        return result(-depth if self.orientation == "vertical" else 0.0 * depth)

    @property
    def top(self):
        """Highest level [m]."""
        if self.orientation == "vertical":
            return result(positive(length=self.length) + self.head_depth)
        return result(positive(diameter=self.diameter) * 1.0)

    @property
    def area(self):
        """Inside surface of shell and both heads [m2]."""
        return self.wetted_area(self.top)

    @property
    def volume(self):
        """Inside volume [m3]."""
        return self.volume_of(self.top)

    def wetted_area(self, level):
        """Inside surface below a level [m] of shell and heads [m2]."""
        return result(self._at(level)[0])

    def volume_of(self, level):
        """Volume below a level [m], in m3."""
        return result(self._at(level)[1])

    def _at(self, level):
        level = finite(level=level)
        low, high = np.asarray(self.bottom), np.asarray(self.top)
        size = 1e-9 * high
        refuse(level < low - size, "level", level, f"is below the vessel's lowest, {low.min():.6g}")
        refuse(level > high + size, "level", level, f"is above the vessel's top, {high.min():.6g}")
        level = np.where(np.isnan(level), level, np.clip(level, low, high))
        R = np.asarray(self.diameter, dtype=float) / 2.0
        if self.orientation == "spherical":
            return 2 * np.pi * R * level, np.pi * level**2 * (3.0 * R - level) / 3.0
        return (self._vertical if self.orientation == "vertical" else self._horizontal)(level, R)

    def _horizontal(self, level, R):
        z, L = level / R - 1.0, np.asarray(self.length, dtype=float)
        z = np.clip(z, -1.0, 1.0)  # guard: rounding
        angle = np.arccos(-z)  # half the angle that the liquid takes of the circle
        area, volume = _sideways_head(z, self.head_type, self._arcs)
        shell = R**2 * (angle + z * np.sqrt(1.0 - z**2)) * L
        return 2 * angle * R * L + 2 * area * R**2, shell + 2 * volume * R**3

    def _vertical(self, level, R):
        L, depth = np.asarray(self.length, dtype=float), np.asarray(self.head_depth)
        unit = result(np.asarray(depth / R).flat[0])
        arcs, head = self._arcs, self.head_type
        low = np.clip(level + depth, 0.0, depth) / R
        high = np.clip(L + depth - level, 0.0, depth) / R  # what the liquid leaves of the top head
        shell = np.clip(level, 0.0, L)
        bottom = _standing_head(low, head, arcs, unit)
        whole = _standing_head(np.full(low.shape, unit), head, arcs, unit)
        dry = _standing_head(high, head, arcs, unit)
        # a flat roof touches when full
        top = np.pi * np.asarray(level >= L) if head == "flat" else whole[0] - dry[0]
        area = bottom[0] + top
        volume = bottom[1] + whole[1] - dry[1]
        return (2 * np.pi * R * shell + area * R**2 + 0.0 * level,
                np.pi * R**2 * shell + volume * R**3 + 0.0 * level)  # fmt: skip

    def level_of(self, volume):
        """Level [m] at which the vessel holds a volume [m3]; InputError above its volume."""
        V = not_negative(volume=volume)
        refuse(
            V > np.asarray(self.volume) * (1 + 1e-9), "volume", V, "is more than the vessel holds"
        )
        low = np.broadcast_to(self.bottom, np.broadcast(V, self.bottom).shape).astype(float)
        high = np.broadcast_to(self.top, low.shape).astype(float)
        for _ in range(60):  # bisection: volume rises with level
            middle = 0.5 * (low + high)
            more = np.asarray(self.volume_of(middle)) > V
            low, high = np.where(more, low, middle), np.where(more, middle, high)
        return result(np.where(np.isnan(V), np.nan, 0.5 * (low + high)))
