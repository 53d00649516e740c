"""A valve, a trip, or both: does the cause need a valve, may a trip stand beside it, is it enough.

`gates` asks the code and the independence of layers, `groups` how often a group of channels fails
on demand, `opening` how often a relief valve does, `layers` adds up scenarios against the company's
own target, `response` sets a trip's seconds against the process safety time of `pressure_in_time`,
`trips` judges a trip against a cause and counts trips that fail on one header, `examples` holds
values that companies chose: examples, never data.

A trip changes how often, never how much: no function here takes anything off a relief load. Nothing
here says that something may be done without a device; it lists what stands against it.
"""

from relieflib import lazily

__getattr__, __dir__ = lazily(__name__, __path__)
