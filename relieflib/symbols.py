"""The one table of quantities: name, symbol, meaning, kind, display units in the SI and US sets.

The rows stand in `tables/symbols.txt`, the units of each kind in `kinds`. The name is what a
parameter is called in every function. The symbol is what an equation in a working writes; its
LaTeX follows from it. The SI unit follows from the kind. Pressures are absolute unless the name
ends in `_gauge`.
"""

import re
from dataclasses import dataclass

from relieflib.errors import InputError
from relieflib.kinds import DISPLAY, DISPLAY_OF, QUANTITIES, SI_UNIT
from relieflib.texts import with_unit
from relieflib.units import ATMOSPHERE, from_si, to_si

UNIT_SETS = ("SI", "US")
_GREEK = (
    "alpha beta gamma delta zeta eta theta kappa lambda mu nu pi rho sigma tau phi psi omega"
    " Delta Phi"
).split()


@dataclass(frozen=True)
class Symbol:
    """One quantity of the table."""

    name: str
    symbol: str
    meaning: str
    kind: str

    @property
    def unit(self):
        """SI unit."""
        return SI_UNIT[self.kind]

    @property
    def latex(self):
        """LaTeX of the symbol."""
        return latex_of(self.symbol)

    def display_unit(self, unit_set="SI"):
        """Unit in which a set shows this quantity; small lengths in mm and in."""
        if unit_set not in UNIT_SETS:
            raise InputError(f"unit set '{unit_set}': use one of {', '.join(UNIT_SETS)}")
        units = DISPLAY_OF.get(self.name) or DISPLAY[self.kind]
        return units[UNIT_SETS.index(unit_set)]

    def show(self, value, unit_set="SI", atmosphere=ATMOSPHERE):
        """Value in the display unit of a set, from SI; the site's atmosphere for gauge units."""
        return from_si(value, self.display_unit(unit_set), self.kind, atmosphere)

    def read(self, value, unit_set="SI", atmosphere=ATMOSPHERE):
        """SI value of a number typed in the display unit of a set; the inverse of `show`."""
        return to_si(value, self.display_unit(unit_set), self.kind, atmosphere)


def latex_of(symbol):
    """LaTeX of an equation symbol: `P1` gives P_{1}, `rho_l` gives \\rho_{l}.

    Parameters: symbol, str. Returns str.
    >>> latex_of("Kd"), latex_of("rho_l"), latex_of("P1")
    ('K_{d}', '\\\\rho_{l}', 'P_{1}')
    """
    if len(symbol) > 3 and symbol.isupper():  # MAWP, CDTP: words of the trade, no subscript
        return rf"\mathrm{{{symbol}}}"
    head, _, tail = symbol.partition("_")
    if not tail and head not in _GREEK:
        match = re.fullmatch(r"([A-Za-z])(\w+)", head)
        head, tail = (match.group(1), match.group(2)) if match else (head, "")
    head = "\\" + head if head in _GREEK else head
    return f"{head}_{{{tail.replace('_', ',')}}}" if tail else head


SYMBOLS = {name: Symbol(name, *rest) for name, rest in QUANTITIES.items()}


def symbol(name):
    """The `Symbol` of a quantity.

    Parameters: name, str. Returns Symbol. Raises InputError for an unknown name.
    >>> symbol("mass_flow").display_unit("US")
    'lb/h'
    """
    if name not in SYMBOLS:
        raise InputError(f"quantity '{name}' is not in the table of symbols")
    return SYMBOLS[name]


def shown(name, value, unit_set="SI", figures=4, atmosphere=ATMOSPHERE, **more):
    """A quantity in the display unit of a unit set, as text.

    Parameters: name in the table of symbols; value in SI or None; unit_set; figures; atmosphere
    [Pa]; more as `texts.with_unit`. Returns str, '' for None. Raises InputError for an unknown
    name or unit set.
    >>> shown("mass_flux", 1869.34, "US"), shown("required_area", 3.699e-3)
    ('382.9 lb/(s ft²)', '3699 mm²')
    """
    quantity = symbol(name)
    if value is not None:
        value = quantity.show(value, unit_set, atmosphere)
    return with_unit(value, quantity.display_unit(unit_set), figures, **more)
