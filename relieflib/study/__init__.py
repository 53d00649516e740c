"""A study of one's own: a plant file with its cases, kept as written and recomputed.

`case` is one case as data, `inputs` reads what it says, `store` writes it into the file whole;
`study` opens a file, `results` computes it, `filed` says what changed, `asking` what is missing.
"""

from relieflib.study import sheet, shown, store
from relieflib.study.case import Case
from relieflib.study.store import add_case
from relieflib.study.study import Study, new_study, open_study

__all__ = ["Case", "Study", "add_case", "new_study", "open_study", "sheet", "shown", "store"]
