"""How sure a case is, by the ranges that it states: read, then asked of `how_sure`."""

from relieflib.errors import InputError
from relieflib.study.how_sure import Range, how_sure
from relieflib.study.inputs import Inputs
from relieflib.study.recomputing import sizing_of
from relieflib.texts import harmless

KEYS = ("low", "high", "likely")


def sure_of(case, plant=None, area=None, samples=None, seed=1):
    """Which input with a range moves a case, and how many samples of all need more than stands.

    In the file a range is a list, `temperature = ["20 °C", "60 °C"]`, or a table with low, high and
    likely; an input inside a table has a dot in its name, "stream.temperature". Parameters: case
    with ranges; plant, where it looks up what it refers to; area that stands [m2], samples and seed
    as `how_sure`. Returns `HowSure`, its inputs by their own names, dotted only where two are
    alike. Raises InputError as `how_sure`, for a range of what the case has not, and for one
    that can't be read. Source: `how_sure`.
    """
    reader = Inputs(plant, None, "ranges")
    reader.all_of(case.inputs)
    unknown = [dotted for dotted in case.ranges if dotted not in reader.read]
    if unknown:
        raise InputError(f"ranges: '{harmless(unknown[0], 60)}' is no input of this case: "
                         f"{', '.join(reader.read)}")  # fmt: skip
    names = _short(case.ranges)
    ranges = {names[dotted]: _range(reader, dotted, raw) for dotted, raw in case.ranges.items()}
    inputs = {names[dotted]: reader.read[dotted][1] for dotted in case.ranges}
    back = {name: dotted for dotted, name in names.items()}

    def sizing(**given):
        return sizing_of(case, plant, {back[name]: value for name, value in given.items()})

    return how_sure(sizing, inputs, ranges, area, samples, seed)


def _short(dotted_names):
    last = [dotted.rpartition(".")[2] for dotted in dotted_names]
    return {d: name if last.count(name) == 1 else d for d, name in zip(dotted_names, last)}


def _range(reader, dotted, raw):
    """A `Range` from what is written for one input."""
    name = reader.read[dotted][0]
    ends = dict(zip(KEYS, raw)) if isinstance(raw, list) and len(raw) == 2 else raw
    if not isinstance(ends, dict) or not {"low", "high"} <= set(ends) <= set(KEYS):
        raise InputError(f"ranges: {dotted}: a list of two, or a table with {', '.join(KEYS)}")
    found = {key: reader.value(name, value, ("ranges", dotted, key)) for key, value in ends.items()}
    return Range(found.pop("low"), found.pop("high"), **found)
