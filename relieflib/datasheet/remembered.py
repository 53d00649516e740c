"""What a check finds is kept for rows that would show it the same, so that a long list runs fast.

A check finds what it finds from what it reads of its row. Run for the first time it reads through
`_Watched`, which notes every cell and every number of the case that it looks at; where a later row
shows the same in all of those, it would find the same, and need not be asked again. What can't be
noted (the sizing itself) is never kept: such a check is asked for each row.
"""

from operator import attrgetter, itemgetter

from relieflib.datasheet.columns import COLUMNS, Row

MOST_KEPT = 4000  # findings of one list; beyond them all are forgotten
TRIALS = 8  # findings that were kept and not asked for, before a check is no longer watched
# what a check may read of a case and is noted by its value
NOTED = frozenset(
    "fire fluid fluid_trouble flow highest_gauge pressure pressure_basis back_pressure trouble "
    "search letter kind code installation actual_area basis certified_K standard_Kd installed "
    "sized said steam_temperature".split()
)
_WORDS = {name for name, c in COLUMNS.items() if c.kinds[0] in ("choice", "code")}
_UNIT_AND_KIND = attrgetter("unit", "kind")
_NOTHING = object()


def form_of(row):
    """What rows of one form share: columns filled in, units, choices, what can't be read.

    Parameters: row, `Row`. Returns a tuple.
    """
    cells = row.cells
    return (
        row.atmosphere,
        tuple(row.unreadable.items()),
        tuple(cells),
        tuple(map(_UNIT_AND_KIND, cells.values())),
        tuple([cells[name] for name in _WORDS if name in cells]),
    )


class _Cells:
    """Cells of a row; those read are noted, but for what all rows of its form share."""

    def __init__(self, cells, note):
        self._cells, self._note = cells, note

    def _noted(self, name):
        if name in self._cells and name not in _WORDS:
            self._note.cells.add(name)

    def get(self, name, default=None):
        self._noted(name)
        return self._cells.get(name, default)

    def __getitem__(self, name):
        self._noted(name)
        return self._cells[name]

    def __contains__(self, name):
        return name in self._cells  # the same for all rows of its form

    def __getattr__(self, name):
        self._note.whole = True
        return getattr(self._cells, name)

    def __iter__(self):
        self._note.whole = True
        return iter(self._cells)


class _Row:
    """A row whose cells are noted."""

    get, usable, tag = Row.get, Row.usable, Row.tag

    def __init__(self, row, note):
        self._row, self._note = row, note
        self.cells, self.unreadable = _Cells(row.cells, note), row.unreadable
        self.atmosphere = row.atmosphere

    def __getattr__(self, name):
        self._note.whole = True
        return getattr(self._row, name)


class _Watched:
    """A `Case` that notes what is read of it."""

    def __init__(self, case, note):
        self._case, self._note, self.row = case, note, _Row(case.row, note)

    def __getattr__(self, name):
        if name in NOTED:
            self._note.names.add(name)
        else:
            self._note.whole = True
        return getattr(self._case, name)

    @property
    def factors(self):
        return _Factors(self._case.factors, self._note)

    def in_sheet(self, *given, **named):
        """A value in the row's unit: its form alone decides for the unit."""
        return self._case.in_sheet(*given, **named)

    def half(self, name):
        self.row.cells.get(name)
        return self._case.half(name)

    def effective_Kd(self, Kd):
        self.row.cells.get("Kd")
        self._note.names.add("standard_Kd")
        return self._case.effective_Kd(Kd)


class _Factors:
    """Factors of a sizing; those read are noted."""

    def __init__(self, factors, note):
        self._factors, self._note = factors, note

    def __getitem__(self, name):
        self._note.factors.add(name)
        return self._factors[name]


class _Note:
    """What a check has read; whole, that it read what can't be noted."""

    def __init__(self):
        self.cells, self.names, self.factors, self.whole = set(), set(), set(), False

    def add(self, other):
        """True where another note holds what this one did not; now it does."""
        before = len(self.cells) + len(self.names) + len(self.factors)
        self.cells |= other.cells
        self.names |= other.names
        self.factors |= other.factors
        return len(self.cells) + len(self.names) + len(self.factors) > before


class _Findings:
    """What one check found in rows of one form, by what it read of them."""

    __slots__ = ("found", "hits", "misses", "note", "shown", "watch")

    def __init__(self):
        self.note, self.watch, self.found, self.hits, self.misses = _Note(), True, {}, 0, 0
        self.shown = _getter(self.note)

    def keep(self, case, found, note):
        """Keep what was found by what was read, or watch no longer where that does not pay.

        Where a run reads more than those before, what they found is forgotten. Returns how many
        findings more are kept.
        """
        self.misses += 1
        if note.whole or self.misses > TRIALS + self.hits:
            self.watch = False
            self.found.clear()
            return 0
        if self.note.add(note):
            self.shown = _getter(self.note)
            self.found.clear()
        self.found[self.shown(case)] = found
        return 1


def _getter(note):
    """A function of a case: the values of what was read, as a key."""
    of_case = attrgetter(*sorted(note.names)) if note.names else None
    of_cells = itemgetter(*sorted(note.cells)) if note.cells else None
    of_factors = itemgetter(*sorted(note.factors)) if note.factors else None
    if of_factors:
        return lambda case: (
            of_case and of_case(case),
            of_cells and of_cells(case.row.cells),
            of_factors(case.factors),
        )
    if of_case and of_cells:
        return lambda case: (of_case(case), of_cells(case.row.cells))
    if of_case:
        return of_case
    return (lambda case: of_cells(case.row.cells)) if of_cells else (lambda case: None)


class Kept:
    """What is kept of rows of one form: what checks found, and the units that they show."""

    def __init__(self, count):
        self.units, self.shown_as, self._by_check, self._count = {}, {}, {}, count
        self._live, self._together = [], None

    def found(self, check, case):
        """What a check finds in a case: as it was found in a case that shows it the same, or now.

        Parameters: check, a function of a case; case. Returns what the check returns.
        """
        own = self._by_check.get(check)
        if own is None:
            own = self._by_check[check] = _Findings()
        if not own.watch:
            return check(case)
        found = own.found.get(own.shown(case), _NOTHING)
        if found is not _NOTHING:
            own.hits += 1
            return found
        note = _Note()
        found = check(_Watched(case, note))
        self._count(own.keep(case, found, note))
        return found

    def all_found(self, checks, case):
        """What several checks find in a case; always the same checks.

        Parameters: checks, functions of a case; case. Returns a new list of what they return but
        for None, in no order. Where a row shows all of them that are kept the same, they are found
        at once.
        """
        own = self._together
        if own is not None and own.watch:
            found = own.found.get(own.shown(case))
            if found is not None:
                own.hits += 1
                return found + asked(self._live, case)
        found = [self.found(check, case) for check in checks]
        if own is None or own.watch:
            self._keep_together(checks, case, found)
        return [one for one in found if one is not None]

    def _keep_together(self, checks, case, found):
        """Keep what all checks found that are kept one by one, by all that they read."""
        mine, note = [self._by_check[check] for check in checks], _Note()
        live = [check for check, own in zip(checks, mine) if not own.watch]
        for own in mine:
            if own.watch:
                note.add(own.note)
        if self._together is None or live != self._live:
            self._together, self._live = _Findings(), live
        rest = [one for one, own in zip(found, mine) if own.watch and one is not None]
        self._count(self._together.keep(case, rest, note))


def asked(checks, case):
    """What checks find in a case that is not kept.

    Parameters and Returns as `Kept.all_found`.
    """
    return [one for check in checks if (one := check(case)) is not None]


class Memory:
    """What the checks of one list have found."""

    def __init__(self):
        self._forms, self._kept = {}, 0

    def of(self, row):
        """What is kept of rows of a row's form.

        Parameters: row, `Row`. Returns `Kept`.
        """
        form = form_of(row)
        kept = self._forms.get(form)
        if kept is None:
            self._count(1)
            kept = self._forms[form] = Kept(self._count)
        return kept

    def _count(self, more):
        self._kept += more
        if self._kept > MOST_KEPT:
            self._forms, self._kept = {}, 0
