"""A panel that turns loads into areas: give it loads, it sizes, draws and tabulates them."""

from relieflib.devices import Device
from relieflib.notebook.controls import quantity
from relieflib.notebook.panel import Panel, shown
from relieflib.report import figures
from relieflib.report.figures import ladder
from relieflib.sizing import size

__all__ = ["IN_VIEW", "area_panel", "figures", "gas_controls", "ladder", "read_off"]

IN_VIEW = (7.2, 3.6)  # inches: with a file browser open the numbers stand beside such a picture
_LABELS = {
    "pressure": "relieving pressure", "temperature": "relieving temperature", "mass_flow": "load",
    "rated_flow": "letter passes", "mass_flux": "mass flux G",
    "back_pressure": "back pressure, absolute",
}  # fmt: skip


def area_panel(controls, loads, rows=(), device=None, back_pressure=None,
               build=figures.build_area_ladder, update=figures.update_area_ladder,
               size_of_picture=IN_VIEW, lead="largest", edition=None, fold=None):  # fmt: skip
    """Panel of one or several loads, sized side by side; its numbers are those of the first one.

    controls as `Panel`; loads(**inputs) gives {words: `ReliefLoad`}, or one load alone; rows,
    names that `read_off` knows, shown under load, area and letter, or {name: words}; device, a
    `Device` or a function of the inputs; back_pressure [Pa absolute] likewise; build and update,
    another picture than the area ladder; lead, the word said of the largest, '' for none;
    edition(**inputs) of API 520-I, 10 where it is not given; fold as `Panel`. Its result holds
    `sizing`, `stream`, `back_pressure` of the first load and `areas` of all. Returns `Panel`.
    """

    def compute(**inputs):
        found = loads(**inputs)
        found = found if isinstance(found, dict) else {found.cause.replace("_", " "): found}
        valve = device(**inputs) if callable(device) else device or Device()
        back = back_pressure(**inputs) if callable(back_pressure) else back_pressure
        which = edition(**inputs) if edition else 10
        sized = {words: size(load, valve, back, which) for words, load in found.items()}
        first = next(iter(sized.values()))
        areas = {words: s.required_area or None for words, s in sized.items()}
        return {"sizing": first, "areas": areas, "stream": first.load.stream, "lead": lead,
                "back_pressure": first.back_pressure}  # fmt: skip

    def table(result, unit_set):
        names = dict.fromkeys(["mass_flow", "required_area", "letter", *rows])  # each once
        words = rows if isinstance(rows, dict) else {}
        return [read_off(result["sizing"], name, unit_set, words.get(name)) for name in names]

    return Panel(controls, compute, build, update, table, size=size_of_picture, fold=fold)


def gas_controls(gas, temperature):
    """Controls of a gas, for a reader's own case: the fluid first of all.

    Parameters: gas, anything with molar_mass, k and Z, to start at; temperature [K]. Returns a list
    of four controls named as the arguments of `Gas`.
    """
    return [
        quantity("molar_mass", gas.molar_mass, 2.0, 200.0),
        quantity("k", gas.k, 1.02, 1.67),
        quantity("Z", gas.Z, 0.3, 1.5),
        quantity("temperature", temperature, 120.0, 900.0, label="relieving temperature"),
    ]


def read_off(sizing, name, unit_set="SI", words=None):
    """One row of a table, (label, text), read off a `Sizing` and its working by name.

    Parameters: sizing; name, of a step of the working, a factor, a property of the stream, or
    'letter', 'regime', 'used', 'kind', 'fluid', 'edition'; unit_set; words for the label in place
    of the table's. Returns (str, str); '-' for what this sizing does not have.
    >>> from relieflib.sizing import ReliefLoad
    >>> from relieflib.nozzle.gas import Gas
    >>> s = size(ReliefLoad("x", 24270 / 3600, Gas(670e3, 348.0, molar_mass=51.0, k=1.11, Z=0.9)))
    >>> read_off(s, "required_area"), read_off(s, "letter")
    (('required area', '3699 mm²'), ('letter', 'P'))
    """
    special = {"letter": _letter, "regime": lambda s: s.regime, "used": _used,
               "kind": lambda s: s.device.kind, "fluid": _fluid,
               "edition": lambda s: f"{s.edition}th" }  # fmt: skip
    if name in special:
        label = {"used": "letter used to", "regime": "flow in the nozzle",
                 "kind": "kind of valve",
                 "edition": "edition of API 520-I"}.get(name, name)  # fmt: skip
        return words or label, special[name](sizing)
    step = {line.name: line for line in sizing.working}.get(name)
    value = step.value if step else getattr(sizing.load.stream, name, None)
    own = {"mass_flow": sizing.load.mass_flow, "required_area": sizing.required_area,
           "back_pressure": sizing.back_pressure}  # fmt: skip
    if name in own:
        step, value = None, own[name]
    label = words or _LABELS.get(name) or (step.meaning if step else name.replace("_", " "))
    return label, shown(name, value, unit_set) or "-"


def _fluid(sizing):
    named = getattr(sizing.load.stream, "fluid", None)
    as_set = "M, k, Z as set" if sizing.load.stream.phase == "gas" else "as set"
    return f"{named}, real fluid" if named else as_set


def _letter(sizing):
    if not sizing.load.mass_flow:
        return "none needed"
    if sizing.device.kind == "disk":
        return "none: a disk"
    return sizing.letter or "more than one valve"


def _used(sizing):
    return f"{sizing.used:.0%}" if sizing.letter and sizing.load.mass_flow else "-"
