"""What 02 asks: which causes are credible for which equipment, and what counts as one failure."""

from relieflib import credible
from relieflib.asking.question import Choice

NOTEBOOK = 2
WARM_UP = (("00", "governs"), ("01", "bench"))
_COLUMN, _BULLET, _TANK = "The column C-101.", "The propane bullet V-105.", "The tank T-101."
_ITEMS = {_COLUMN: "C-101", _BULLET: "V-105", _TANK: "T-101"}


def longest_list(**_):
    """The item with most credible causes, as the demo plant's matrix has it."""
    matrix = credible.load_matrix()
    return max(_ITEMS, key=lambda words: len(matrix.credible_for(_ITEMS[words])))


QUESTIONS = (
    Choice(
        "tubes",
        "L-105 is a liquid line that can be shut at both ends. A colleague wants tube rupture on "
        "its list, since E-102 upstream has tubes. What do you say?",
        {
            "Yes: what breaks in E-102 may run into the line.":
                "It runs into whatever is open to E-102, and is sized there. Once L-105 is shut at "
                "both ends nothing comes in from an exchanger.",
            "No: the line has no tubes; its own causes are heat and fire.":
                "Sun, tracing or a fire make the liquid grow. What a neighbour breaks is judged at "
                "the neighbour.",
            "No: tubes of a good maker do not break.":
                "A judgement needs a reason that can be checked. Tubes wear and vibrate; the "
                "standard asks for the cause wherever there are any.",
        },
        "No: the line has no tubes; its own causes are heat and fire.",
        hint="What is open to L-105 at the moment it is blocked in?",
    ),
    Choice(
        "longest",
        "Which of these three has the longest list of credible causes?",
        {
            _COLUMN:
                "Steam, cooling, reflux, feed, a tube side, water in the sump: whatever makes "
                "vapour or stops taking it away is a cause.",
            _BULLET:
                "It holds most, but little happens to it: it is fed, heated by fire or sun, and "
                "may be filled. Seven causes.",
            _TANK:
                "It is the weakest and stands up to ten; but no heat is put in on purpose, and no "
                "condenser can fail.",
        },
        longest_list,
        hint="Count the services that it lives on: each of them can fail.",
    ),
    Choice(
        "two failures",
        "LV-101 sticks open and gas rushes into V-102. Somebody adds: and at that moment PV-102 "
        "on the gas outlet happens to fail shut as well. Does the valve have to take both?",
        {
            "Yes: the worst that can be thought of sizes a valve.":
                "Then no valve would ever be large enough. Two failures with no common reason are "
                "not counted together (API 521, 4.2).",
            "Only if one follows from the other, or both from one thing such as lost air.":
                "Then it is one event. Ask for the common reason first: power, air, a signal, the "
                "same operator.",
            "No: one instrument at a time is the rule, whatever made them fail.":
                "One EVENT at a time is the rule. Lost instrument air may move every valve of the "
                "plant, and that is one event.",
        },
        "Only if one follows from the other, or both from one thing such as lost air.",
        hint="Is there one thing that does both?",
    ),
    Choice(
        "latent",
        "A check valve has been stuck open for a year and nobody knows. Today the pump trips, and "
        "the vessel behind it pushes back. Two failures?",
        {
            "Yes, and two at once are not counted.":
                "Only today's is new. What has been broken and unseen for a year is the state of "
                "the plant when the event comes.",
            "No: the stuck one was there already; the trip is the event.":
                "A failure that nobody can see is called latent. That is why a single check valve "
                "gets little credit.",
            "No, since a check valve that sticks lets nothing pass.":
                "Stuck open it lets everything pass backwards; that is what it was there to stop.",
        },
        "No: the stuck one was there already; the trip is the event.",
        hint="When did each of the two happen?",
    ),
)  # fmt: skip
