"""Whatever is written into a study reads back as it was, and moves nothing that stood there."""

import tomllib

from hypothesis import given, settings, strategies as st

from relieflib.plant import KIND, read_value
from relieflib.study.case import Case, case_of
from relieflib.study.inputs import written
from relieflib.study.store import _behind, as_toml
from relieflib.symbols import SYMBOLS
from relieflib.toml_lines import lines_of

PLAIN = sorted(
    name for name, row in SYMBOLS.items() if row.kind not in ("dimensionless", "API gravity")
)
WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40).filter(str.strip)
VALUE = st.one_of(
    WORDS, st.floats(allow_nan=False, allow_infinity=False), st.booleans(),
    st.integers(-(2**53), 2**53),
)  # fmt: skip
TREE = st.recursive(
    VALUE,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
    max_leaves=8,
)


@given(st.sampled_from(PLAIN), st.floats(1e-3, 1e8), st.sampled_from(["SI", "US"]))
def test_a_quantity_reads_back_as_it_was_written(name, value, unit_set):
    if KIND[name] == "kinematic viscosity":
        return
    text = written(name, value, unit_set)
    assert abs(read_value(name, text, "here") - value) <= 1e-9 * abs(value)


@settings(max_examples=60)
@given(WORDS, WORDS, st.dictionaries(WORDS, TREE, min_size=1, max_size=4), WORDS, WORDS)
def test_a_case_reads_back_as_it_was_written_behind_any_text(item, name, result, note, before):
    case = Case(item, name, result=result, note=note)
    text = "".join(f"# {line}\n" for line in before.split("\n") if line.isprintable())
    whole = _behind(text, as_toml(("cases", item, name), case.table()))
    assert whole.startswith(text.rstrip("\r\n"))
    data = tomllib.loads(whole)["cases"][item][name]
    assert case_of(item, name, data) == case
    assert ("cases", item, name) in lines_of(whole)


@settings(max_examples=60)
@given(st.lists(st.tuples(WORDS, WORDS), min_size=1, max_size=5, unique=True))
def test_the_line_of_a_heading_is_where_it_stands(keys):
    text = "\n".join(as_toml(("cases", *pair), {"cause": "x"}) for pair in keys)
    for pair in keys:
        number = lines_of(text)["cases", *pair]
        data = tomllib.loads(text.split("\n")[number - 1] + "\n")
        assert data == {"cases": {pair[0]: {pair[1]: {}}}}
