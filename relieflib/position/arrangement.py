"""How many valves, with a spare or not, set together or one after the other, and what each wastes.

The largest load says how much area must lift. The smallest says how little may ask for it: a valve
far too large for a small event opens, empties what little there is, and slams shut. Several valves
set one after the other answer small events with the first alone. A spare buys time, nothing else.
"""

import itertools
import math
from dataclasses import dataclass

from relieflib import orifices, rules
from relieflib.errors import InputError, one_number, positive

SERVICES = ("clean", "fouling")
BUYS = "a valve can be taken out, tested and put back while the plant runs"
NOT_BOUGHT = (
    "capacity: a spare that is blocked in passes nothing, and is counted with nothing",
    "a larger load, a second cause, a wrong set pressure: the spare is the same valve once more",
    "what plugs or corrodes both: their nozzle, their header, the same dirty service",
    "protection while both are shut: see the interlock or the three-way valve",
)
THREE_WAY, INTERLOCK = "a three-way valve", "block valves on an interlock"
BARE = "no block valve at all"


@dataclass(frozen=True)
class Choice:
    """One arrangement: `orifices.Arrangement`, sets [Pa gauge], share of the area that events use.

    shares: {event: required area over that of the valves it opens}; isolation, in words.
    """

    arrangement: orifices.Arrangement
    sets: tuple
    shares: dict
    isolation: str

    @property
    def staggered(self):
        """Do the valves lift one after the other."""
        return len(set(self.sets)) > 1

    @property
    def wasted(self):
        """Area on duty beyond the required one, over what is required [-]."""
        return self.arrangement.excess

    @property
    def bought(self):
        """Area of all valves that are bought, spares too, over what is required [-]."""
        spare = sum(orifices.orifice_area(letter) for letter in self.arrangement.spare)
        return (self.arrangement.area + spare) / self.arrangement.area * (1.0 + self.wasted)

    @property
    def chatters(self):
        """Events too small for the valves that they open, smallest share first."""
        small = [e for e, s in self.shares.items() if s < rules.SMALL_SHARE.value]
        return tuple(sorted(small, key=self.shares.get))

    @property
    def words(self):
        """The arrangement in one line."""
        how = ", one after the other" if self.staggered else ""
        return f"{self.arrangement}{how}, {self.isolation}"


def opened_area(required_area, areas, staggered=False):
    """Area of the valves that an event opens: all of them, or one after the other as it needs.

    Parameters: required_area of the event [m2]; areas of the valves by rising set pressure [m2];
    staggered, True where they lift one after the other. Returns m2.
    Validity: the next valve opens when those before it are full. Source: areas add up.
    >>> opened_area(1.5, (1.0, 2.0, 4.0), True), opened_area(1.5, (1.0, 2.0, 4.0))
    (3.0, 7.0)
    """
    needed = one_number(required_area=positive(required_area=required_area))
    if not staggered:
        return float(sum(areas))
    total = 0.0
    for area in areas:
        total += area
        if total >= needed * (1 - 1e-9):
            break
    return float(total)


def choices(areas, mawp_gauge, most=3, spare=False):
    """Ways to arrange the valves of one item for all its loads, each with what it wastes.

    Parameters: areas, {event: required area [m2]}, of the load summary; mawp_gauge [Pa gauge];
    most, number of valves in duty at most; spare, True puts one beside those in duty. Returns a
    list of `Choice`: for each number of valves those of one letter and the best mix of two, set
    together and, for several, one after the other; where all of those chatter, the least mix of a
    small valve before others that does not. Raises InputError for no area, or too large.
    Validity: areas at the pressure of one valve, on the safe side where several may go to 16 %.
    Source: `orifices.arrangements`, `staggered_sets`; chatter: `rules.SMALL_SHARE`.
    >>> found = choices({"fire": 1800e-6, "sun": 60e-6}, 16e5, 2)
    >>> [c.words for c in found if not c.chatters]
    ['1 x D + 1 x L, one after the other, no block valve at all']
    """
    if not areas:
        raise InputError("areas: give at least one event")
    if type(most) is not int or not 1 <= most <= orifices.MOST_VALVES:
        raise InputError(f"most = {most!r}: 1 to {orifices.MOST_VALVES} valves in duty")
    largest = max(one_number(required_area=positive(required_area=a)) for a in areas.values())
    found = []
    for n in range(1, most + 1):
        try:
            fits = orifices.arrangements(largest, n, spare)
        except InputError:  # too small with n of the largest letter
            continue
        for one in fits:
            found += _ways(one, areas, mawp_gauge)
        if n > 1 and all(c.chatters for c in found if len(c.arrangement.duty) == n):
            found += _quiet(areas, largest, n, spare, mawp_gauge)
    if not found:
        raise InputError(f"areas: {most} valves are too few, even of the largest letter")
    return found


def _quiet(areas, largest, n, spare, mawp_gauge):
    """One small valve before others of one letter, of least area, where none of it chatters."""
    fits = []
    for small, large in itertools.combinations(orifices.LETTERS, 2):
        duty = (small,) + (large,) * (n - 1)
        total = sum(orifices.orifice_area(letter) for letter in duty)
        if total >= largest * (1 - 1e-9):
            one = orifices.Arrangement(
                duty, (large,) if spare else (), total, total / largest - 1.0
            )
            fits += [c for c in _ways(one, areas, mawp_gauge) if c.staggered and not c.chatters]
    return [min(fits, key=lambda c: c.wasted)] if fits else []


def _ways(one, areas, mawp_gauge):
    n = len(one.duty)
    own = tuple(orifices.orifice_area(letter) for letter in one.duty)
    ways = [((float(orifices.staggered_sets(mawp_gauge, 1)[0]),) * n, False)]
    if n > 1:
        ways.append((orifices.staggered_sets(mawp_gauge, n), True))
    return [
        Choice(one, sets, {e: a / opened_area(a, own, late) for e, a in areas.items()},
               isolation_for(n, len(one.spare)))
        for sets, late in ways
    ]  # fmt: skip


def isolation_for(lifting, spare):
    """What may stand before the valves, in words.

    Parameters: lifting and spare, numbers of valves. Returns str. One and a spare: a three-way
    valve; several and a spare: an interlock, whose keys leave as many open as are in duty; without
    a spare nothing, since whatever closes leaves too few. Source: ASME BPVC XIII, Part 12, from
    memory; common practice.
    >>> isolation_for(1, 1), isolation_for(2, 0)
    ('a three-way valve', 'no block valve at all')
    """
    if type(lifting) is not int or type(spare) is not int or lifting < 1 or spare < 0:
        raise InputError("lifting, spare: whole numbers of valves, at least 1 and 0")
    if not spare:
        return BARE
    return THREE_WAY if lifting == spare == 1 else INTERLOCK


def stops(run_length, test_interval, spare):
    """Stops of the plant that the test of a valve asks for within one run.

    Parameters: run_length between planned stops, test_interval of the valve [s]; spare, is there
    one that can be brought in. Returns int: tests that fall due before the run ends, 0 with a
    spare. Source: arithmetic.
    >>> stops(5.0, 2.0, False), stops(4.0, 2.0, False), stops(5.0, 2.0, True)
    (2, 1, 0)
    """
    run = one_number(run_length=positive(run_length=run_length))
    every = one_number(test_interval=positive(test_interval=test_interval))
    return 0 if spare else max(math.ceil(run / every - 1e-9) - 1, 0)


def spare_wanted(run_length, test_interval, service="clean", critical=False):
    """Is a spare worth its money, and why; never a question of capacity.

    Parameters: run_length, test_interval [s]; service, one of `SERVICES`; critical, may the plant
    not be stopped at will. Returns (bool, words). Source: common practice, no source.
    >>> spare_wanted(4.0, 4.0)
    (False, 'the test falls into the planned stop')
    """
    if service not in SERVICES:
        raise InputError(f"service = '{service}': use one of {', '.join(SERVICES)}")
    n = stops(run_length, test_interval, False)
    if n:
        return True, f"{n} tests fall due within a run; with a spare none of them stops the plant"
    if service == "fouling":
        return True, "a valve that leaks or plugs in dirty service is changed while the plant runs"
    if critical:
        return True, "a valve that leaks after it has lifted would stop a plant that must not stop"
    return False, "the test falls into the planned stop"
