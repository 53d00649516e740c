"""What the finder found, as a sentence."""

from itertools import groupby

from relieflib.slips.finder import Found

LISTED = 4  # numbers told in a sentence
ALIKE = 6  # slips told that lead to one number


def explain(found):
    """A sentence on what `find_slips` found, honest about several or none.

    Parameters: found, `Found`, or any list of tuples of `Slip`. Returns str: 'It is ...' only
    where one group of slips fits within the rounding and no other comes near.
    >>> explain([])
    'No common slip leads to this number.'
    """
    if not found:
        return "No common slip leads to this number."
    if not isinstance(found, Found):
        found = Found(found, [0.0] * len(found), range(len(found)))
    if found.sure:
        return f"It is what comes out if {_group(found[0])}."
    numbers = [list(ones) for _, ones in groupby(zip(found, found.off, found.same), _index)]
    pair = "No single slip leads to this number; " if len(found[0]) > 1 else ""
    several = "Several slips fit this number; " if len(numbers) > 1 and not pair else ""
    words = f"{pair or several}it would come out{_ways(numbers, found.rounding)}."
    return words[0].upper() + words[1:]


def _ways(numbers, rounding):
    """Each number's slips, those within the rounding first, and how many more fit."""
    told, words, before = numbers[:LISTED], "", None
    for ones in told:
        close = ones[0][1] <= rounding * (1 + 1e-9)
        or_ = "" if before is None else "; or"
        less = ""
        if not close and before is None:
            less = f", to within {max(100 * ones[0][1], 0.01):.1g} %,"
        elif not close and before:
            less = ", less closely,"
        words, before = f"{words}{or_}{less} if {_one(ones)}", close
    more = len(numbers) - len(told)
    return words + (f" ({more} more fit)" if more else "")


def _index(entry):
    return entry[2]


def _group(slips):
    return " and ".join(slip.words for slip in slips)


def _one(ones):
    """The groups that lead to one number."""
    words = list(dict.fromkeys(_group(group) for group, *_ in ones))
    if len(words) == 1:
        return words[0]
    more = f", or in {len(words) - ALIKE} more ways" if len(words) > ALIKE else ""
    alike = ", or if ".join(words[:ALIKE])
    return f"{alike}{more} (one number: nothing here tells them apart)"
