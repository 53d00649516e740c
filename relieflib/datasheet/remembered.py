"""What a check finds is kept for rows that would show it the same, so that a long list runs fast.

A check finds what it finds from what it reads of its row. Run for the first time it reads through
`_Watched`, which notes every cell and every number of the case that it looks at; where a later row
shows the same in all of those, it would find the same, and need not be asked again. What can't be
noted (the sizing itself) is never kept: such a check is asked for each row.
"""

from operator import attrgetter, itemgetter

from relieflib.datasheet.columns import COLUMNS, Row

MOST_KEPT = 20_000  # findings of one list; beyond them all are forgotten
TRIALS = 8  # findings that were kept and not asked for, before a check is no longer watched
# what a check may read of a case and is noted by its value
NOTED = frozenset(
    "fire fluid fluid_trouble flow highest_gauge pressure pressure_basis back_pressure trouble "
    "search letter kind code installation actual_area basis certified_K standard_Kd installed "
    "sized said".split()
)
_WORDS = {name for name, c in COLUMNS.items() if c.kinds[0] in ("choice", "code")}
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
        tuple([c if name in _WORDS else c[2:4] for name, c in cells.items()]),  # unit, kind
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
    """What one run of a check has read; whole, that it read what can't be noted."""

    def __init__(self):
        self.cells, self.names, self.factors, self.whole = set(), set(), set(), False


class _Findings:
    """What one check found in rows of one form, by what it read of them."""

    __slots__ = ("found", "hits", "misses", "note", "shown", "watch")

    def __init__(self):
        self.note, self.watch, self.found, self.hits, self.misses = _Note(), True, {}, 0, 0
        self._learn(self.note)

    @property
    def settled(self):
        """True where nothing was read but what all rows of the form share."""
        note = self.note
        return self.watch and not (note.cells or note.names or note.factors)

    def _learn(self, note):
        """What is read grows by what a run has read; what was kept by less is forgotten."""
        mine = self.note
        for ours, theirs in ((mine.cells, note.cells), (mine.names, note.names),
                             (mine.factors, note.factors)):  # fmt: skip
            ours |= theirs
        self.shown = _getter(mine)
        self.found.clear()

    def keep(self, case, found, note):
        """Keep what was found, or watch no longer where that does not pay."""
        mine, self.misses = self.note, self.misses + 1
        if note.whole or self.misses > TRIALS + self.hits:
            self.watch = False
            self.found.clear()
            return 0
        if not (note.cells <= mine.cells and note.names <= mine.names
                and note.factors <= mine.factors):  # fmt: skip
            self._learn(note)
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
        self._settled, self._open = [], None

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
        """What several checks find in a case, in their order; always the same checks.

        Parameters: checks, functions of a case; case. Returns a list of (place, finding) of those
        that found anything. What reads nothing but a row's form is settled once for all its rows.
        """
        places = enumerate(checks) if self._open is None else self._open
        found = self._settled + [(i, one) for i, check in places
                                 if (one := self.found(check, case)) is not None]  # fmt: skip
        if self._open is None:
            mine = [self._by_check[check] for check in checks]
            self._open = [p for p, own in zip(enumerate(checks), mine) if not own.settled]
            self._settled = [p for p in found if mine[p[0]].settled]
        return found


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
