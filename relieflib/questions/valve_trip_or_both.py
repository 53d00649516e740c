"""What 53 asks: is the valve, the trip, or both enough, and what must not be counted."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.protection import groups, layers, response
from relieflib.protection.groups import Channel
from relieflib.slips import Slip
from relieflib.units import to_si
from relieflib.working import Working, step

NOTEBOOK = 53
WARM_UP = (("33", "filling"), ("30", "gauge"))
AVERAGE = "IEC 61508-6 (2010), annex B, no repair"
METHOD = "CCPS, LOPA (2001)"
HOUR, YEAR = 3600.0, to_si(1.0, "y", "interval")


def one_channel(undetected_rate, test_interval, initiating_frequency):
    """PFD of one channel, then how often it lets the cause pass."""
    p = groups.average("1oo1", Channel(undetected_rate, test_interval))
    return Working([
        step("demand_failure", p, "lambda_DU*T_1/2", AVERAGE, undetected_rate=undetected_rate,
             test_interval=test_interval),
        step("frequency", layers.frequency_left(initiating_frequency, p), "f_0*PFD", METHOD,
             initiating_frequency=initiating_frequency, demand_failure=p),
    ])  # fmt: skip


def two_channels(undetected_rate, test_interval, common_cause):
    """PFD of 1oo2 with a common cause."""
    p = groups.average("1oo2", Channel(undetected_rate, test_interval), common_cause)
    given = dict(undetected_rate=undetected_rate, test_interval=test_interval,
                 common_cause=common_cause)  # fmt: skip
    equation = "((1 - b_cc)*lambda_DU*T_1)**2/3 + b_cc*lambda_DU*T_1/2"
    return Working([step("demand_failure", p, equation, AVERAGE, **given)])


def both_at_once(undetected_rate, test_interval):
    """PFD of two single channels in a row, unlike in kind, tested on the same day."""
    p = groups.average("1oo2", Channel(undetected_rate, test_interval))
    return Working([
        step("demand_failure", p, "(lambda_DU*T_1)**2/3", "mean of the product",
             undetected_rate=undetected_rate, test_interval=test_interval),
    ])  # fmt: skip


def stroke_left(safety_time, time_share, sensor_time, logic_time):
    """Stroke that is left for the valve of a trip."""
    allowed = response.time_allowed(safety_time, time_share)
    return Working([
        step("response_time", allowed, "x_ps*t_ps", "common practice: half", time_share=time_share,
             safety_time=safety_time),
        step("stroke_time", allowed - sensor_time - logic_time, "t_re - t_sen - t_log",
             "all three together", response_time=allowed, sensor_time=sensor_time,
             logic_time=logic_time),
    ])  # fmt: skip


def what_counts(initiating_frequency, demand_failure):
    """Frequency left by one layer: what shares its sensor adds nothing."""
    f = layers.frequency_left(initiating_frequency, demand_failure)
    return Working([step("frequency", f, "f_0*PFD", METHOD, demand_failure=demand_failure,
                         initiating_frequency=initiating_frequency)])  # fmt: skip


QUESTIONS = (
    *series(
        "one channel",
        "One transmitter, one relay, one valve, together {undetected_rate} of failures that only "
        "the test finds, tested every {test_interval}. The cause comes {initiating_frequency}. How "
        "often does it pass the trip? No repair, no common cause.",
        one_channel,
        {"undetected_rate": Varies(1e-6 / HOUR, 0.4e-6 / HOUR, 4e-6 / HOUR, 0.05e-6),
         "test_interval": YEAR, "initiating_frequency": 0.1 / YEAR},
        "frequency",
        "On average it has failed for half of an interval when the demand comes.",
        ("demand_failure",),
        note="Failed at a time that nobody knows: on average half of the interval ago.",
        why="Half of the interval is half of the PFD: a test is the cheapest layer there is.",
        slips=(
            Slip("whole interval", "lambda T was taken: that is the chance on the last day, not "
                 "the mean, which is half of it",
                 lambda i: i | {"test_interval": 2 * i["test_interval"]}, "often"),
        ),
    ),
    Value(
        "common cause",
        "Two transmitters, one of which is enough: {undetected_rate} each, tested together every "
        "{test_interval}, common cause {common_cause}. What is the PFD of the pair, simplified?",
        two_channels,
        {"undetected_rate": Varies(2e-6 / HOUR, 1e-6 / HOUR, 5e-6 / HOUR, 0.05e-6),
         "test_interval": YEAR, "common_cause": 0.05},
        "demand_failure",
        "Both by themselves: ((1 - b) lambda T)^2/3. Both at a blow: b lambda T/2. Add them.",
        why="Most of it is common cause. A third transmitter of the same make would hardly help.",
        slips=(
            Slip("no common cause", "beta was left out: both were taken to fail by themselves "
                 "alone", lambda i: i | {"common_cause": 0.0}, "often"),
        ),
    ),
    Value(
        "tested together",
        "A cause must pass two unlike layers, each one channel of {undetected_rate}, both tested "
        "on the same day every {test_interval}. Which PFD have they together?",
        both_at_once,
        {"undetected_rate": Varies(2e-6 / HOUR, 1e-6 / HOUR, 5e-6 / HOUR, 0.05e-6),
         "test_interval": YEAR},
        "demand_failure",
        "Both are new on the same day and worst on the same day: the mean of (lambda t)^2.",
        why="4/3 of the product of the two averages. Tested half an interval apart they would be "
            "better than that.",
        slips=(
            Slip("product of averages", "the two averages were multiplied: (lambda T/2)^2",
                 lambda i: i | {"test_interval": i["test_interval"] * 0.75**0.5}, "often"),
        ),
    ),
    Value(
        "stroke",
        "From a trip's setting to the limit it takes {safety_time}. The company lets a trip use "
        "{time_share} of that. The sensor answers in {sensor_time}, the logic in {logic_time}. How "
        "long may the stroke of its valve be?",
        stroke_left,
        {"safety_time": Varies(14.0, 10.0, 20.0, 0.1), "time_share": 0.5, "sensor_time": 1.0,
         "logic_time": 0.5},
        "stroke_time",
        "Sensor, logic and valve share what the trip may use.",
        why="The valve is the slow one. Its stroke is timed in the field, never assumed.",
        slips=(
            Slip("half forgotten", "all of the process safety time was used up: nothing is kept "
                 "for what was not thought of", lambda i: i | {"time_share": 1.0}, "often"),
        ),
    ),
    Value(
        "one sensor",
        "An alarm with PFD 0.1 and a trip with PFD {demand_failure} read the same transmitter, "
        "which is in the PFD of both. The cause comes {initiating_frequency}. How often may it be "
        "counted to pass?",
        what_counts,
        {"demand_failure": Varies(0.01, 0.004, 0.04, 0.0005), "initiating_frequency": 0.1 / YEAR},
        "frequency",
        "When the transmitter stands still, neither acts. How many layers are there?",
        why="A shared part removes the credit: the better one counts, once.",
        slips=(
            Slip("sensor credited twice", "the common sensor was credited twice: the alarm's 0.1 "
                 "was multiplied in",
                 lambda i: i | {"demand_failure": 0.1 * i["demand_failure"]}, "often"),
        ),
    ),
    Choice(
        "smaller valve",
        "A trip of PFD 0.001 now closes the feed of a vessel before its relief valve would lift. "
        "What may be done to the relief valve?",
        {
            "It may be sized for a thousandth of the flow.":
                "The trip works or it fails. When it fails, all of the flow comes.",
            "It may be left out: the trip is ten times better.":
                "That is for the code first, which asks for more than a PFD: jurisdiction, every "
                "scenario below its limit, somebody who signs.",
            "Nothing on its size. It will lift less often.":
                "A trip changes how often, not how much.",
        },
        "Nothing on its size. It will lift less often.",
        hint="What does the valve see on the day on which the trip fails?",
    ),
    Choice(
        "band",
        "A trip has a PFD of 0.005 by calculation. What does that prove?",
        {
            "It is SIL 2: 0.005 lies between 0.001 and 0.01.":
                "It lies in the band. A SIL also asks for fault tolerance and systematic "
                "capability.",
            "It is enough, whatever is asked: SIL 2 is a thousandth.":
                "The band ends at 0.01. A scenario that wants 0.0033 is not content with 0.005.",
            "That its rates, if they are true, put it in the band of SIL 2.":
                "No more: not that it acts in time, nor that its hardware and its making are fit.",
        },
        "That its rates, if they are true, put it in the band of SIL 2.",
        hint="Three things make a SIL. The PFD is one.",
    ),
)  # fmt: skip
