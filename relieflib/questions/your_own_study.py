"""What 54 asks: what is missing, what is stale, which change moved the letter, and by how much."""

from math import sqrt

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.orifices import orifice_area
from relieflib.slips import another_way
from relieflib.working import Working, step

NOTEBOOK = 54
WARM_UP = (("11", "bypass"), ("50", "second set"))
ALIKE = "the load goes with the root of the density before the valve, IEC 60534-2-1 (2011)"
IN_PROPORTION = "at one pressure the load, and so the area, goes with the coefficient"
FILED, HIGHER = "The corrected Z.", "The wider trim."
NEITHER, BOTH = "Neither.", "Each of them by itself."


def denser(required_area, Z, upstream_Z):
    """Area of a control valve case when the Z before the valve is corrected; all else stays."""
    found = required_area * sqrt(Z / upstream_Z)
    return Working([
        step("changed_area", found, "A*sqrt(Z/Z_up)", ALIKE, required_area=required_area, Z=Z,
             upstream_Z=upstream_Z),
    ])  # fmt: skip


def bypass_found(required_area, flow_coefficient, bypass_coefficient):
    """Area of a control valve case when a bypass is found that nobody had typed."""
    total = flow_coefficient + bypass_coefficient
    return Working([
        step("total_coefficient", total, "C + C_by", "API 521 (2020), 4.4.8: open in parallel",
             flow_coefficient=flow_coefficient, bypass_coefficient=bypass_coefficient),
        step("changed_area", required_area * total / flow_coefficient, "A*C_tot/C", IN_PROPORTION,
             required_area=required_area, total_coefficient=total,
             flow_coefficient=flow_coefficient),
    ])  # fmt: skip


def moved(required_area, **more):
    """The words of the option that says which of two changes moves the letter J."""
    beyond = [required_area * by > orifice_area("J") for by in (sqrt(0.90 / 0.853), 1.15)]
    return {(False, False): NEITHER, (False, True): HIGHER, (True, True): BOTH}[tuple(beyond)]


def _after(required_area):
    return {
        "changed_area": required_area * sqrt(0.90 / 0.853),
        "installed_area": required_area * 1.15,
    }


QUESTIONS = (
    *series(
        "bypass found",
        "A study says: {flow_coefficient}, wide open, choked; required {required_area}. In the "
        "field a bypass of {bypass_coefficient} is found that the file has not. It is typed in, "
        "and the study recomputed. Which area does it require now?",
        bypass_found,
        {"required_area": 628.7e-6, "flow_coefficient": 10.0,
         "bypass_coefficient": Varies(6.3, 2.0, 9.0, 0.1)},
        "changed_area",
        "Both stand open at once, side by side, at one pressure. What adds up?",
        ("total_coefficient",),
        note="In parallel the coefficients add up, and the area goes with them.",
        why="One line of the file that nobody wrote is the most usual cause of a wrong letter.",
        slips=(
            another_way(lambda required_area, flow_coefficient, bypass_coefficient:
                        required_area * bypass_coefficient / flow_coefficient,
                        "that is the bypass alone; the valve stands open too"),
            another_way(lambda required_area, flow_coefficient, bypass_coefficient:
                        required_area * sqrt(flow_coefficient**2 + bypass_coefficient**2)
                        / flow_coefficient,
                        "squares are added in series; side by side the coefficients add up"),
        ),
    ),
    Value(
        "corrected Z",
        "Filed: {required_area}, for steam through a control valve with Z {Z} before it. Held "
        "against the steam tables, Z there is {upstream_Z}. Pressure, temperature and all else "
        "stay. Which area does the study require once Z is corrected?",
        denser,
        {"required_area": Varies(628.7e-6, 300e-6, 800e-6, 10), "Z": 0.90, "upstream_Z": 0.853},
        "changed_area",
        "A smaller Z is a denser gas. The flow through an opening goes with the root of density.",
        why="One property of one fluid moves every case that rests on it: the list of changes "
            "names them all.",
        tolerance=0.003,
        slips=(
            another_way(lambda required_area, Z, upstream_Z: required_area * Z / upstream_Z,
                        "the density goes with 1/Z; the flow goes with its ROOT"),
            another_way(lambda required_area, Z, upstream_Z: required_area * sqrt(upstream_Z / Z),
                        "the ratio is upside down: a smaller Z is a denser gas, and more flows"),
        ),
    ),
    Choice(
        "which moved the letter",
        "Filed: {required_area}, letter J, 830.3 mm². Since then two inputs have changed. A "
        "corrected Z by itself makes it {changed_area}; a trim that is 15 % wider by itself makes "
        "it {installed_area}. Which of the two moves the letter?",
        {
            FILED: "It makes {changed_area} of it. Hold that against 830.3 mm², and the other "
                   "one too.",
            HIGHER: "By itself it makes {installed_area} of it. Hold both against 830.3 mm².",
            BOTH: "Then either of {changed_area} and {installed_area} would have to lie above "
                  "830.3 mm².",
            NEITHER: "Then both {changed_area} and {installed_area} would have to lie at 830.3 mm² "
                     "or below.",
        },
        moved,
        {"required_area": Varies(750e-6, 600e-6, 829e-6, 1)},
        "The letter J ends at 830.3 mm². Take each change alone.",
        more=_after,
    ),
    Choice(
        "what is missing",
        "A study has one vessel, its valve with both lines, and one case, the fire, that needs a "
        "third of the valve. It says nothing of the other causes of the list. What is its verdict?",
        {
            "covers: the one case there is needs a third of the valve.":
                "The valve covers that case. Whether it covers the vessel hangs on what nobody has "
                "looked at.",
            "not known: a cause that nobody has judged is left open.":
                "A reason, even 'not credible: no exchanger on it', closes a cause. Silence does "
                "not.",
            "does not cover: every cause needs a load.":
                "A cause that is not credible, with its reason, needs none. Nothing here says that "
                "the valve is too small.",
        },
        "not known: a cause that nobody has judged is left open.",
        hint="What has to be true before one may say that a vessel is covered?",
    ),
    Choice(
        "what is stale",
        "Revision 0 is filed. Then somebody changes the set pressure of one valve in the file and "
        "recomputes. What stands in the filed results?",
        {
            "Today's numbers: they follow the file.":
                "Then nobody could tell what was checked and signed. What follows the file is the "
                "result of today.",
            "The old numbers, marked: no longer as filed.":
                "Somebody signed those. They stay until somebody looks at the change and files "
                "the study anew.",
            "Nothing: a change empties them.":
                "Then the next reader could not see what moved. Before and now stand side by side.",
        },
        "The old numbers, marked: no longer as filed.",
        hint="Who signed what?",
    ),
    Choice(
        "why it moved",
        "The required area of a case differs from the one filed. No input of the case has changed, "
        "nor has the edition. Which of these can be the reason?",
        {
            "None: the same inputs give the same area.":
                "Of the case, yes. What it is sized on stands elsewhere in the file, and the "
                "equations stand in the program.",
            "The valve, its header or its line in the file, or another version of the program.":
                "The list of changes says which of the two. A corrected equation is a reason to "
                "check what was filed.",
            "The date: results are good for a year.":
                "Nothing grows old by itself. Something has changed, else the area would stand.",
        },
        "The valve, its header or its line in the file, or another version of the program.",
        hint="What else goes into a required area?",
    ),
)  # fmt: skip
