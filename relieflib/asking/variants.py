"""Numbers that differ by participant, the same on every machine, neighbours never alike."""

import hashlib
import math
from dataclasses import dataclass

from relieflib.errors import InputError
from relieflib.symbols import symbol

GOLDEN = 0.618  # share of the steps by which neighbours lie apart: far, and evenly spread


@dataclass(frozen=True)
class Varies:
    """A number that differs by participant: base, low and high in SI, in whole steps.

    The step is in the display unit of the SI set. The worked example has `base`, and nobody else.
    """

    base: float
    low: float
    high: float
    step: float = 1.0


def lot(*words):
    """A whole number drawn by words: the same on every machine.

    Parameters: words, str or int. Returns int. Source: SHA-256, FIPS 180-4.
    >>> lot("abc") == int("ba7816bf8f01cfea", 16)  # the example of FIPS 180-4
    True
    """
    digest = hashlib.sha256("|".join(map(str, words)).encode("utf-8", "replace")).digest()
    return int.from_bytes(digest[:8], "big")


def stride(count):
    """Steps from one participant to the next: no divisor in common with the number of values.

    Parameters: count, how many values there are. Returns int.
    >>> stride(30), stride(10), stride(1)
    (19, 7, 1)
    """
    near = max(round(GOLDEN * count), 1)
    return next(n for n in range(near, near + count + 1) if math.gcd(n, count) == 1)


def values(varies, name):
    """All that a `Varies` may be, in SI: whole steps from low to high, the base left out.

    Parameters: varies; name of the quantity. Returns tuple. Raises InputError for fewer than two.
    >>> [round(v) for v in values(Varies(6e5, 5e5, 7e5, 0.5), "set_pressure_gauge")]
    [500000, 550000, 650000, 700000]
    """
    row = symbol(name)
    low, high, base = (row.show(x) / varies.step for x in (varies.low, varies.high, varies.base))
    steps = range(math.ceil(low - 1e-6), math.floor(high + 1e-6) + 1)
    found = tuple(row.read(float(f"{n * varies.step:.9g}")) for n in steps if abs(n - base) > 1e-6)
    if len(found) < 2:
        raise InputError(f"{name}: between low and high lie fewer than two steps")
    return found


def varied(varies, name, key, participant, room="", stage=0):
    """The SI value of a `Varies` for a participant.

    Parameters: varies; name, quantity; key of the question; participant, int; room, code of a
    class; stage, 0 or 1 for two questions of one key that must differ. Returns float.
    >>> v = Varies(10e5, 5e5, 15e5, 0.5)
    >>> len({varied(v, "set_pressure_gauge", "q", n) for n in range(20)})
    20
    """
    found = values(varies, name)
    place = lot(key, name, room) + stride(len(found)) * participant + stage * (len(found) // 2)
    return found[place % len(found)]
