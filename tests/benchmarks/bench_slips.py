"""Share of planted slips that the finder names, on sheets worked out by the published equations.

Run by hand: `python tests/benchmarks/bench_slips.py [SHEETS A PHASE] [SEED]`. Prints, for each
phase and number of figures: first (slips that lead to one number counted as one answer), first
without such a twin, named in the sentence, 'it is' said of it, 'it is' said of another; then
numbers without a slip; then each slip that comes first in fewer than 90 % of its cases, and which
slips share their number with others. Never fails.
"""

import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import slip_sheets as lot

FIGURES = (3, 4, 5)


def shares(counted, *names):
    """The named counts as shares of the cases."""
    return "  ".join(f"{name} {counted[name] / counted['cases']:6.1%}" for name in names)


def twins(count, seed):
    """{key: Counter of keys} of slips that lead to one number, by the finder's own numbers."""
    found = defaultdict(Counter)
    for phase in lot.DRAWN:
        for d, _, way in lot.sheets(phase, count, seed):
            ways = lot.outcomes_of(d, way)
            moved = [(s, v) for s, v in ways.singles if abs(v / ways.right - 1) > lot.MOVED]
            for slip, value in moved:
                found[slip.key][""] += 1
                found[slip.key].update(
                    o.key for o, v in moved if o is not slip and abs(v / value - 1) < 1e-6
                )
    return found


def main(count=40, seed=1):
    """Draw the sheets, plant the slips, print the shares."""
    start = time.perf_counter()
    marks, none = lot.score(count, seed, FIGURES)
    names = ("first", "alone", "named", "it_is", "wrongly")
    for figures in FIGURES:
        for phase in (*lot.DRAWN, "all"):
            some = [c for (p, _, n), c in marks.items() if n == figures and phase in (p, "all")]
            total = sum(some, Counter())
            print(f"{figures} figures {phase:10} {total['cases']:6} cases  {shares(total, *names)}")
        apart = sum((c for (_, n), c in none.items() if n == figures), Counter())
        pair, it_is, told = (apart[n] / apart["random"] for n in ("pair", "sure", "explained"))
        print(
            f"{figures} figures, clean: {apart['claimed']} claims of {apart['clean']};  wrong at "
            f"random, {apart['random']}: explained {told:.1%} (by a pair {pair:.1%}), "
            f"'it is' {it_is:.1%}"
        )
    print("\nFirst in fewer than 90 % of its cases, or named in fewer than 98 %:")
    by_key = defaultdict(Counter)
    for (_, key, figures), counted in marks.items():
        by_key[key, figures] += counted
    for (key, figures), c in sorted(by_key.items(), key=lambda one: (one[0][1], one[0][0])):
        if c["first"] < 0.9 * c["cases"] or c["named"] < 0.98 * c["cases"]:
            print(f"  {figures} figures {key:38} {c['cases']:5} cases  {shares(c, *names[:3])}")
    print("\nSlips that lead to one number (share of the sheets on which both move the area):")
    for key, others in sorted(twins(count, seed).items()):
        often = [(o, n / others[""]) for o, n in others.most_common() if o and n >= others[""] / 4]
        if often:
            print(f"  {key:38} {', '.join(f'{o} {share:.0%}' for o, share in often)}")
    print(f"\n{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main(*(int(number) for number in sys.argv[1:]))
