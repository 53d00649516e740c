"""Common slips, and the finder that recognises one by the number it leads to.

    found = find_slips(stated, compute, inputs, rounding=0.5 / 3699, name="required_area")
    explain(found)

How it ranks: a slip fits at all when the number it leads to is within `tolerance` of the stated
one. Those within the stated number's rounding come first, then those within a hand's rounding
(half of the fourth figure); in each class the commoner slip comes before the rarer one, then the
nearer one. Slips that lead to one number stand together: nothing tells them apart. Two slips at
once are tried only when no single one fits: two that happen often, then one that does with one
that sometimes does, where few enough pairs come near for a fit not to be chance.

How it is said: 'It is' only where one slip (or pair) fits within the rounding and no other does
within three of them; else 'it would come out if'.

How common a slip is (often, sometimes, seldom), and in which phases it makes sense, stands in
`tables/slips.csv`: common practice, no source.

Slips of your own, for one question or one sheet, go along as (*CATALOGUE, *own):

- a wrong input: `used_instead("k", 1.62, words)`, or with a function of the inputs where numbers
  differ by participant: `used_instead("mass_flow", lambda i: i["rated_flow"], words)`;
- a wrong way, where no one input is wrong: `another_way(lambda P, L, **_: ..., words)`;
- a wrong answer: `Slip(key, words, scale=0.5)`, or shift=1.0 for an atmosphere too many;
- several inputs at once: `Slip(key, words, change=function of all inputs)`.

Inputs that compute does not take (an operating temperature, the loss of the inlet line, cp/cv of
the real fluid) may stand among the inputs: slips use them, compute never sees them.
"""

from relieflib.slips.catalogue import CATALOGUE
from relieflib.slips.finder import Found, Outcomes, find_slips, matches, outcomes
from relieflib.slips.printed import bases
from relieflib.slips.slip import (
    COMMON,
    Slip,
    another_way,
    answer_slips,
    unit_slips,
    used_instead,
)
from relieflib.slips.words import explain

__all__ = [
    "CATALOGUE", "COMMON", "Found", "Outcomes", "Slip", "another_way", "answer_slips", "bases",
    "explain", "find_slips", "matches", "outcomes", "unit_slips", "used_instead",
]  # fmt: skip
