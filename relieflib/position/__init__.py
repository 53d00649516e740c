"""Where relief devices stand on the drawing: what lies in their way, and what can cut them off.

`placement` holds the data of a plant's file, `isolation` finds each single part that leaves an item
without its valves, `shared_set` says how high one valve for several items may be set, `arrangement`
how many valves and which spare; `checks` puts it into verdicts, `reasons` into one for the judge.
"""
