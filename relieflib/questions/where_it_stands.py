"""What 42 asks: what a drawing shows that no area does, one valve for several items, spares."""

from relieflib import orifices
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.position import shared_set
from relieflib.set_pressure import accumulation_limit
from relieflib.slips import another_way
from relieflib.working import Working, step

NOTEBOOK = 42
WARM_UP = (("32", "too large"), ("10", "credit"))
LIQUID, GAS = "into liquid", "into gas"
PAD_BETWEEN = "The pad lies between vessel and valve, and may plug."
PAD_CLEAR = "Nothing: the valve stands on the side where the pressure is made."
POCKET = "Liquid gathers in the low point: it loads the valve, and is thrown as a slug."
FALLS = "Nothing: it falls all the way."


def set_for_both(mawp_gauge, static_head, line_drop):
    """Highest set of a valve at the far end of an open way."""
    found = shared_set.highest_set(mawp_gauge, static_head, line_drop)
    allowed = accumulation_limit(mawp_gauge)
    return Working([
        step("accumulation_limit", allowed, "0.1*MAWP", "one valve, no fire",
             mawp_gauge=mawp_gauge),
        step("relieving_pressure_gauge", mawp_gauge + allowed - line_drop - static_head,
             "MAWP + dp_acc - dp_line - dp_stat", "left for the valve while it relieves",
             mawp_gauge=mawp_gauge, accumulation_limit=allowed, line_drop=line_drop,
             static_head=static_head),
        step("set_pressure_gauge", found, "p1/1.1", "it relieves at 10 % above set",
             relieving_pressure_gauge=mawp_gauge + allowed - line_drop - static_head),
    ])  # fmt: skip


def small_event(required_area, area):
    """Share of a valve that a small event asks for."""
    return Working([step("used", required_area / area, "A/Ao", "its definition",
                         required_area=required_area, area=area)])  # fmt: skip


def wasted(required_area, valves, area):
    """Area on duty over what is required."""
    return Working([
        step("installed_area", valves * area, "N*Ao", "all in duty; spares are not counted",
             valves=valves, area=area),
        step("area_multiple", valves * area / required_area, "A_inst/A", "its definition",
             installed_area=valves * area, required_area=required_area),
    ])  # fmt: skip


def meets(inlet_height, level):
    """What a nozzle's end meets: liquid below the level."""
    return LIQUID if inlet_height < level else GAS


QUESTIONS = (
    *series(
        "two items",
        "One valve on V-2 also protects V-1, by an open way. V-1 has MAWP {mawp_gauge}. While the "
        "valve relieves, {line_drop} are lost on the way; {static_head} of liquid stand "
        "between, V-1 "
        "below. No fire. How high may the valve be set?",
        set_for_both,
        {"mawp_gauge": Varies(72e5, 40e5, 95e5, 1.0), "line_drop": Varies(3.7e5, 2e5, 5e5, 0.1),
         "static_head": 0.3e5},
        "set_pressure_gauge",
        "V-1 may stand at 10 % above its MAWP. Take off drop and head. The valve relieves at 10 % "
        "above its set.",
        ("accumulation_limit", "relieving_pressure_gauge"),
        note="68.4 barg, though V-1 and V-2 have the same MAWP.",
        why="The weakest item rules, at its own place in the flow.",
        tolerance=0.002,
        slips=(
            another_way(lambda mawp_gauge, **_: mawp_gauge,
                        "drop and head were left out; V-1 then goes beyond what it may"),
            another_way(lambda mawp_gauge, line_drop, static_head:
                        mawp_gauge - line_drop - static_head,
                        "drop and head were taken off at set; the drop is there while it relieves"),
        ),
    ),
    Value(
        "small event",
        "A valve has {area}. The smallest event that opens it needs {required_area}. Which "
        "share of "
        "the valve is that?",
        small_event,
        {"required_area": Varies(200e-6, 80e-6, 420e-6, 5.0), "area": 1840.6e-6},
        "used",
        "Required over installed.",
        why="Below 25 % a pop valve chatters. Set a small valve lower than the large one.",
        tolerance=0.003,
        slips=(another_way(lambda required_area, area: area / required_area,
                           "installed was divided by required"),),
    ),
    Value(
        "wasted",
        "An item needs {required_area}. {valves} valves of {area} lift together, one more stands "
        "blocked in beside them. How many times the required area is on duty?",
        wasted,
        {"required_area": Varies(1450e-6, 900e-6, 2300e-6, 25.0), "valves": 2.0,
         "area": orifices.orifice_area("K")},
        "area_multiple",
        "Count those that lift.",
        why="A spare is bought and not counted: it buys time, never capacity.",
        tolerance=0.003,
        slips=(another_way(lambda required_area, valves, area: (valves + 1) * area / required_area,
                           "the spare was counted; it is blocked in"),),
    ),
    Choice(
        "dip pipe",
        "The inlet nozzle of a bullet's fire valve goes on inside as a pipe. It ends "
        "{inlet_height} "
        "above the bottom. In the fire the liquid stands at {level}. The valve was sized for "
        "vapour. What does it pass?",
        {
            "Vapour: fire makes vapour.":
                "It makes vapour above the liquid. The pipe ends somewhere; compare the heights.",
            "Liquid, which makes far less room than vapour would.":
                "A kilogram of liquid takes little room. The vapour that the fire makes needs the "
                "room, so the pressure goes on rising. Compare the heights.",
            "Either, it makes no difference to the area.":
                "The same area passes some ten times less volume of liquid. It decides.",
        },
        lambda inlet_height, level: "Liquid, which makes far less room than vapour would."
        if meets(inlet_height, level) == LIQUID else "Vapour: fire makes vapour.",
        {"inlet_height": Varies(1.6, 0.4, 2.5, 0.1), "level": 1.55},
        hint="Is the end of the pipe below the liquid?",
    ),
    Choice(
        "anybody",
        "Between V-100 and its valve the drawing shows a block valve, open, with nothing written "
        "beside it. What do you write down?",
        {
            "Nothing: it is drawn open.":
                "Drawn open is how it should stand. Nothing shows when it does not.",
            "V-100 has no protection that counts until it is locked open or gone.":
                "One hand closes it and nobody sees it. The valve behind it keeps its letter and "
                "protects nothing.",
            "Add a second relief valve behind the same block valve.":
                "Both are then cut off by the same hand.",
        },
        "V-100 has no protection that counts until it is locked open or gone.",
        hint="What does it take to close it?",
    ),
    Choice(
        "demister",
        "The mist of a separator is caught by a pad right across it, {level} above its bottom. The "
        "nozzle of its relief valve stands {inlet_height} above the bottom. The gas comes in "
        "below the pad. What do you write down?",
        {
            PAD_CLEAR:
                "That holds where the nozzle stands below the pad: a full pad then shuts nothing "
                "off. Compare the heights.",
            PAD_BETWEEN:
                "That holds where the nozzle stands above the pad, on the far side of it. Compare "
                "the heights.",
            "The pad's loss belongs into the 3 % of the inlet line, no more.":
                "A clean pad loses little. The question is the plugged one, and on which side of "
                "it the valve stands.",
        },
        lambda inlet_height, level: PAD_BETWEEN if inlet_height > level else PAD_CLEAR,
        {"inlet_height": Varies(3.6, 2.5, 4.2, 0.1), "level": 3.25},
        hint="On which side of the pad is the pressure made, and on which does the valve stand?",
    ),
    Choice(
        "between vessels",
        "A column's valve also protects its reflux drum, through condenser and overhead line. "
        "Somebody draws a block valve between condenser and drum, for maintenance. What then?",
        {
            "No harm: the valve of the column is as large as before.":
                "And the drum does not reach it. With the block valve closed and the drum full, "
                "the "
                "sun alone will do.",
            "The drum needs a valve of its own, or the block valve must be locked open or go.":
                "Every item needs an open way to a valve. The way is part of the protection.",
            "The drum is covered by its pump, which would empty it.":
                "A pump is no relief device, and it stops when it is wanted.",
        },
        "The drum needs a valve of its own, or the block valve must be locked open or go.",
        hint="Close it in your mind. What protects the drum?",
    ),
    Choice(
        "pocket",
        "The outlet of a runaway's valve falls from the valve, runs along, and enters the header "
        "from above. Its lowest place on the way stands {level} above the ground, the header "
        "{elevation}. What does a reviewer write beside it?",
        {
            "Longer pipe: the built-up back pressure was not computed.":
                "It may be computed well enough. Look at what stands in the lowest place.",
            POCKET:
                "That holds where the line goes down below the header and up again. Compare the "
                "heights.",
            FALLS:
                "That holds where no place of the line is lower than the header. Compare the "
                "heights.",
        },
        lambda elevation, level: POCKET if level < elevation else FALLS,
        {"elevation": Varies(5.6, 3.2, 6.4, 0.1), "level": 4.55},
        hint="What stands there on a day without any relief?",
    ),
    Choice(
        "spare",
        "A valve with a spare of the same size. What does the spare buy?",
        {
            "Twice the capacity.":
                "It is blocked in. It passes nothing, and is counted with nothing.",
            "Time: a valve is tested or changed while the plant runs.":
                "And only if the spare opens before the other is shut: by an interlock or a "
                "three-way valve.",
            "Safety: if one fails to open, the other does.":
                "It is blocked in. Nobody turns a key within the seconds of a relief.",
        },
        "Time: a valve is tested or changed while the plant runs.",
        hint="Where does the spare's block valve stand in normal operation?",
    ),
    Choice(
        "locked",
        "Every block valve of a plant's relief valves is locked open. A list names them all as "
        "single "
        "parts that would leave an item without protection. Is the list wrong?",
        {
            "Yes: locked open is open.":
                "A lock has a key. It makes closing a decision, not an impossibility.",
            "No: they can be closed, and the list says what the lock must hold.":
                "That is why the code asks for the procedure and for somebody who stands by.",
            "Yes: a locked valve counts as a piece of pipe.":
                "Then nobody would ask who has the key.",
        },
        "No: they can be closed, and the list says what the lock must hold.",
        hint="What is the key for?",
    ),
    Choice(
        "two papers",
        "P&ID note and datasheet say 3K4. The load summary needs 1600 mm² in one valve and says "
        "3L4. K has 1186 mm², L 1841 mm². Two papers against one: which is right?",
        {
            "K: two papers say so, the third is a slip.":
                "A vote counts papers, not square millimetres. One of the two may be a copy.",
            "L is what is needed. Look at the valve's plate before anything is corrected.":
                "K can't carry the load, whatever stands on paper. Only the plate says what is "
                "there.",
            "Either: the difference is one letter.":
                "One letter is 36 % of the area here. The vessel is not protected by K.",
        },
        "L is what is needed. Look at the valve's plate before anything is corrected.",
        hint="Which of the papers can be tested by a number?",
    ),
    Choice(
        "note without roles",
        "A P&ID note reads: PSV-105 A/B, 3L4, SET 16 barg, SIZED FOR closed outlet, TO FH. "
        "One 3L4 is large enough for the case. What can its reader not tell?",
        {
            "The pressure at which the valve opens.":
                "That is given: the note says SET 16 barg, with its unit.",
            "Whether B lifts with A or is a spare behind a shut block valve.":
                "The tag names two valves and no roles. Sets, staggering and what may be shut "
                "for a test hang on it.",
            "The size of the flanges.":
                "3L4 is inlet 3, letter L, outlet 4.",
        },
        "Whether B lifts with A or is a spare behind a shut block valve.",
        hint="Count what two letters in a tag may mean.",
    ),
    Choice(
        "case that does not govern",
        "The note says SIZED FOR closed outlet. The load summary, written later, has a case that "
        "needs 1.6 times that area. What is asked first?",
        {
            "Correct the note: its case is out of date.":
                "Then the drawing is tidy and the vessel may still be unprotected.",
            "Has the valve that stands there the area for the larger case?":
                "The words on paper wait. If the letter is too small, it is a finding about the "
                "plant, not about the drawing.",
            "Nothing: the note says what the valve was bought for.":
                "It does. The larger case was found since, and the valve has not grown.",
        },
        "Has the valve that stands there the area for the larger case?",
        hint="Which of the two can hurt somebody, the note or the letter?",
    ),
)  # fmt: skip
