"""A study of one's own: a plant file with its cases, kept as written and recomputed.

`case` is one case as data, `inputs` reads what it says, `store` writes it into the file whole.
"""
