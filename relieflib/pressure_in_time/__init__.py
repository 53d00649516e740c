"""One vessel, one relief device, one cause: the pressure against time.

`contents` and `pure_fluid` hold what is in the vessel (gas, gas over rising liquid, liquid-full;
real gas, boiling liquid), `sources` what every cause brings as a function of the vessel's pressure,
`device` the valve, pilot or disk, `course` follows the three together. `sprung_disk` is a model of
the valve's own disk, to teach from.

How to ask for the time that a trip has (process safety time): `course.process_safety_time(case,
trip_pressure=...)`, seconds from the trip's pressure (or from the start) to the case's limit with
NO relief device; infinite only where the pressure rests below the limit, at least so long where
the run ends before (full of liquid, boiled dry), NaN where the trip's pressure is not reached.

One answer to each question: loads come from the cause modules, tabulated over pressure, never a
second equation. A gas-filled vessel with its wall in a fire is `causes.exterior_fire_gas.expose`, a
batch that reacts `causes.shared.reactor.run_away`, a column that boils dry
`causes.shared.column_in_time`; this room does not redo them.
"""

from relieflib import lazily

__getattr__, __dir__ = lazily(__name__, __path__)
